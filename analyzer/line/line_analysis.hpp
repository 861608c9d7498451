#pragma once
// From edges to a line, from a line to a resistor.

#include <limits>
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
  /// Of the swing above the level before the edge: where the instants of `transitions` lie. 0.5 as the pulse layer finds them.
  double alignment_ratio = 0.5;
  /// The line fills up step by step, so that `levels` may be steps and no states; then the extremes of the record.
  bool dwells = false;
  double lowest_v = 0, highest_v = 0;
  /// Ends of the converter's range where the record runs into them: a sample there says that the line went that far or further.
  double range_low_v = -std::numeric_limits<double>::infinity(), range_high_v = std::numeric_limits<double>::infinity();
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
LineOutcome analyze_line(const LineInput& given);

}  // namespace pulsewright::analyzer
