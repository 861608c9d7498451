#pragma once
// Pulses as the receiver sees them: widths between crossings of VIL, mid and VIH.

#include <limits>
#include <span>
#include <vector>

#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

/// One high pulse and the low time after it. The receiver's threshold lies somewhere between VIL and VIH, so its width
/// lies between those at the two levels: a width here is an interval. NaN: that level was not reached, or the record
/// ends first.
struct Pulse {
  double start_s = 0;                                                  ///< rising mid crossing, on the record's time axis
  double high_s = 0;                                                   ///< at the mid level
  double high_at_vil_s = std::numeric_limits<double>::quiet_NaN();     ///< above VIL: the widest that a receiver may see
  double high_at_vih_s = std::numeric_limits<double>::quiet_NaN();     ///< above VIH: the narrowest
  double low_after_s = std::numeric_limits<double>::quiet_NaN();       ///< to the next rising mid crossing; NaN at the end
  double low_at_vil_s = std::numeric_limits<double>::quiet_NaN();      ///< below VIL: the narrowest low time
  double low_at_vih_s = std::numeric_limits<double>::quiet_NaN();      ///< below VIH: the widest low time
  bool recrossed = false;  ///< the waveform came back across a receiver threshold during the pulse or the low after it
};

/// Whole high pulses in order of time; one that the record cuts at either end is left out.
std::vector<Pulse> pulses_of(std::span<const Transition> transitions);

/// What is uncertain about one width.
struct WidthUncertainty {
  double single_s = 0;      ///< standard uncertainty of one pulse's width
  double common_ratio = 0;  ///< part common to all widths (sample clock), relative: does not average out
  double common_s = 0;      ///< part common to all widths (levels, interpolation), absolute: does not average out
  double of_mean(std::size_t count) const;  ///< of a mean over `count` pulses, without common_ratio
};

/// The gain's part of a width at a receiver threshold: the threshold is a fixed voltage, so that a gain error moves the
/// crossing. From the change of width between mid and that level; the local slope is up to 1.4 times flatter on an
/// exponential edge. Common to all widths.
double threshold_width_u(double width_at_mid_s, double width_at_level_s, double mid_v, double level_v, double gain_ratio_u);

/// Mid-level widths of sampled waveforms: noise and quantisation through the slope of both edges, the uncertainty of the
/// mid level (it moves both crossings apart where rising and falling slopes differ in sign), and the interpolation error
/// of a sparsely sampled edge. `sample_interval_s` and the typical 10-90 % durations as measured.
WidthUncertainty width_uncertainty(const States& states, const Accuracy& accuracy, double sample_interval_s,
                                   double rising_10_90_s, double falling_10_90_s);

/// The same where only the levels are known: their uncertainty then counts whole, gain included.
WidthUncertainty width_uncertainty(const Levels& levels, double noise_rms_v, double adc_step_v, double sample_interval_s,
                                   double rising_10_90_s, double falling_10_90_s, double timebase_ratio_u);

/// Widths of logic captures: interval between two samples of an asynchronous clock, u = Ts / sqrt(6) (triangular on +-Ts).
WidthUncertainty logic_width_uncertainty(double sample_interval_s, double timebase_ratio_u);

}  // namespace pulsewright::analyzer
