#pragma once
// Transition durations and aberrations (IEEE Std 181 terms) of all transitions of one direction.

#include <optional>
#include <span>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/accuracy.hpp"
#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

struct TransitionContext {
  SampleView samples;
  const States* states = nullptr;
  Accuracy accuracy;
  double vil_v = 1.5, vih_v = 3.5;
  std::optional<double> bandwidth_hz;  ///< of scope and probe together, where stated
};

/// Summary of the rising or falling transitions, with their equivalent-time response.
///
/// Durations come from the response; missing below 2 samples a transition, with "at most ..." as the reason. Overshoot,
/// undershoot: largest excursion beyond and short of the new state, as a ratio of the amplitude, from the first entry
/// into the state boundaries (2 % of the amplitude, or the noise) to the foot of the next transition; preshoot: both signs of the
/// mirror-image region before, three durations long and at most half of the way to the transition before (regions: IEEE
/// Std 181-2011, 5.6: from memory). Settling: 50 % instant to the last entry into +-5 % of the new state, within the response.
TransitionSummary summarize_transitions(const TransitionContext& context, std::span<const Transition> transitions,
                                        const Levels& levels, bool rising);

/// Duration without the measuring system's own, t^2 = tm^2 - ts^2, with ts = 0.35 / bandwidth (single pole to Gaussian:
/// 0.34 to 0.35; sharper responses to 0.45). u holds the error bound of the root-sum-square rule: 16 % at a ratio t/ts
/// of 1, 7 % at 2, 4 % at 3, 1.6 % at 5 (exact convolutions of ramp and exponential edges with
/// one-pole and Gaussian systems). Missing below a ratio of 1.
Measured without_bandwidth(const Measured& duration_s, double bandwidth_hz);

/// Same with the system's own duration and its uncertainty given: u^2 = (tm/t)^2 u(tm)^2 + (ts/t)^2 u(ts)^2; no bound added.
Measured root_difference_square(const Measured& duration_s, const Measured& system_s);

/// Worst case of linear interpolation on a band-limited (Gaussian) edge: largest relative excess of the 10-90 % duration
/// with `samples` samples on it (computed; 2: 19 %, 3: 8.8 %, 5: 3.2 %, 10: 0.8 %).
double interpolation_excess_ratio(double samples);

/// Same: largest error of the 50 % instant as a fraction of the 10-90 % duration (2: 1.3 %, 3: 0.4 %, 5: 0.08 %).
double interpolation_instant_ratio(double samples);

}  // namespace pulsewright::analyzer
