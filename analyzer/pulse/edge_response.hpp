#pragma once
// Equivalent-time edge: all transitions of one direction laid over each other.

#include <cstddef>
#include <span>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

struct EdgeResponseOptions {
  double before_s = 0;  ///< 0: chosen from the durations of the pulses
  double after_s = 0;   ///< 0: chosen from the durations of the pulses
  unsigned bins_a_sample = 16;        ///< finest bin as a fraction of the sample interval
  std::size_t most_transitions = 4096;
  bool apart = false;    ///< from half of the way since the transition before to well before the foot of the next one
};

/// The sample clock is not locked to the data, so that transitions aligned on one instant sample one edge far finer than the
/// clock. Only transitions with the same bits before them are laid over each other (transitions_of_one_history()): where
/// bits leave tails behind, a mixture of histories would jump from bin to bin with the share of each. They are aligned on
/// their interpolated 50 % instant, or, where the waveform dwells about 50 %, on the level at which it is steepest; 0 is
/// where the response itself crosses 50 %. Each transition stops contributing where the next one begins: the last 1 to 3 % of
/// the foot of a smooth edge are still in it, unless `apart` keeps them out. A bin holds the mean of the middle half of its
/// samples (robust, and finer than the converter's step) and their spread; the grid is even, without gaps. Bins are as fine as
/// 6 transitions each allow. Empty with fewer than 2 transitions.
EdgeResponse edge_response(const SampleView& samples, std::span<const Transition> transitions, bool rising,
                           const Levels& levels, const EdgeResponseOptions& options = {});

/// The level at time `t_s` by linear interpolation between bin centres; NaN outside.
double value_at(const EdgeResponse& response, double t_s);

}  // namespace pulsewright::analyzer
