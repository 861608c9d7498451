#pragma once
// One captured end of the run: samples, states, transitions.

#include <vector>

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/classify.hpp"
#include "analyzer/protocol/pulse_statistics.hpp"
#include "analyzer/pulse/accuracy.hpp"
#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

/// Can be moved, not copied: `samples` refers to `blocks`.
struct Node {
  Node() = default;
  Node(Node&&) = default;
  Node& operator=(Node&&) = default;

  const importers::Capture* capture = nullptr;
  const importers::Channel* channel = nullptr;
  bool logic = false, relative = false;
  SampleView samples;  ///< empty for a logic channel
  std::vector<Extremes> blocks;  ///< of `samples`
  States states;
  Levels levels;
  double vil_v = 0, vih_v = 0;  ///< receiver thresholds in the unit of `samples`
  std::vector<Transition> transitions;
  TransitionSummary rising, falling;
  IntervalError interval;

  double start_s() const { return capture->start_s; }
  double end_s() const { return capture->start_s + capture->span_s; }
};

/// Samples and states of one channel, with --multiply and --invert.
Node open_node(const importers::Capture& capture, std::size_t channel, const Settings& settings);

/// Transitions at these receiver thresholds (for counts without a scale at 0.3 and 0.7 of the swing instead).
void find_edges(Node& node, double vil_v, double vih_v);

/// Plateaus, edge responses, durations, aberrations and how well an interval is known.
void measure_edges(Node& node, const Settings& settings);

}  // namespace pulsewright::analyzer
