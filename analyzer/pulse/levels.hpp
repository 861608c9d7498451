#pragma once
// State levels, noise and converter step of a record (IEEE Std 181, IEC 60469).

#include <cstddef>
#include <span>
#include <utility>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/accuracy.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

/// Low and high state from the two halves of the histogram between the extremes: the mode (bin centre) of each half.
/// Ties go to the lower bin, the middle bin belongs to the lower half (IEEE Std 181-2003, pp. 15-17: histogram method).
std::pair<double, double> histogram_levels(std::span<const double> values, std::size_t bins);

/// The shortest interval that holds floor(n/2) + 1 of the values, and the mean inside it (Andrews et al. 1972).
struct Shorth {
  double low = 0, high = 0;
  double mean = 0;
};
Shorth shorth(std::span<const double> values);

/// Low and high state by shorth, the values split at mid-range. `values` must not be empty.
std::pair<Shorth, Shorth> shorth_levels(std::span<const double> values);

/// What a record says before any transition is looked for.
struct States {
  Levels levels;          ///< low, high, amplitude and the peaks are set; drifts and plateaus come from measure_plateaus()
  Measured noise_rms_v;   ///< about the local mean on settled stretches, quantisation included
  Measured adc_step_v;    ///< spacing of the values that occur
  std::size_t clipped_low = 0, clipped_high = 0;  ///< samples in runs on the lowest or highest value of the record
  double low_u_v = 0, high_u_v = 0;  ///< of the levels without the gain, which cancels in ratios and in reference levels
  double low_share = 0;   ///< share of the samples nearer to the low state
  bool two_states = false;  ///< false: one level only (flat line, rail, noise): amplitude is then missing
  std::string one_state_because;  ///< set when there are not two
};

/// Histogram mode of each half refined by the shorth, then by the settled ends of the plateaus, so that ringing, slow
/// edges, long idle times and 8-bit steps do not pull the level. u combines scatter, residual settling, step / sqrt(12)
/// and gain. Two passes over the samples; memory independent of their number.
States measure_states(const SampleView& samples, const Accuracy& accuracy = {});

/// Sets drifts and plateau extremes of `levels` from the plateaus between transitions. A drift is the level of the last pulse of a
/// frame minus that of its first one, by a straight line through all; its u holds the gain.
void measure_plateaus(const SampleView& samples, std::span<const Transition> transitions, const States& states, Levels& levels,
                      const Accuracy& accuracy = {});

}  // namespace pulsewright::analyzer
