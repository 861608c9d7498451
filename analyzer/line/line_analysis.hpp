#pragma once
// From edges to a line, from a line to a resistor.

#include <span>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "analyzer/pulse/transition.hpp"
#include "analyzer/settings.hpp"

namespace pulsewright::analyzer {

/// One captured node of the run.
struct LineNode {
  SampleView samples;
  const Levels* levels = nullptr;
  std::span<const Transition> transitions;
  const EdgeResponse* rising = nullptr;
  const EdgeResponse* falling = nullptr;
  double noise_rms_v = 0;
  ProbePosition at = ProbePosition::far;
};

struct LineInput {
  LineNode node;
  const LineNode* other_end = nullptr;  ///< the other end of the same run, or null
  bool same_record = true;              ///< both ends at once: one time base, and both probes load the line together
  const Settings* stated = nullptr;     ///< what the user stated: the priors
  const SettingsUsed* used = nullptr;   ///< windows, thresholds, supply
};

struct LineOutcome {
  LineFit fit;
  Suggestion suggestion;
};

/// Fits the line model and sweeps every preferred value through it. What cannot be fitted is said in the result.
LineOutcome analyze_line(const LineInput& input);

}  // namespace pulsewright::analyzer
