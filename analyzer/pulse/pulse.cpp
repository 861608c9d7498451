#include "analyzer/pulse/pulse.hpp"

#include <algorithm>
#include <cmath>

#include "analyzer/pulse/aberration.hpp"

namespace pulsewright::analyzer {

namespace {

double vil_s(const Transition& t) { return t.mid_s + static_cast<double>(t.vil_offset_s); }
double vih_s(const Transition& t) { return t.mid_s + static_cast<double>(t.vih_offset_s); }

// Largest error of the 50 % instant of a band-limited edge by linear interpolation, in sample intervals.
double instant_error_samples(double samples_on_edge) {
  return std::min(0.5, interpolation_instant_ratio(std::max(samples_on_edge, 0.05)) * samples_on_edge);
}

}  // namespace

std::vector<Pulse> pulses_of(std::span<const Transition> transitions) {
  std::vector<Pulse> pulses;
  pulses.reserve(transitions.size() / 2);
  for (std::size_t i = 0; i + 1 < transitions.size(); ++i) {
    const auto& rise = transitions[i];
    if (!rise.rising) continue;
    const auto& fall = transitions[i + 1];
    Pulse pulse{.start_s = rise.mid_s, .high_s = fall.mid_s - rise.mid_s};
    pulse.high_at_vil_s = vil_s(fall) - vil_s(rise);
    pulse.high_at_vih_s = vih_s(fall) - vih_s(rise);
    pulse.recrossed = rise.recrossings > 0 || fall.recrossings > 0;
    if (i + 2 < transitions.size()) {
      const auto& next = transitions[i + 2];
      pulse.low_after_s = next.mid_s - fall.mid_s;
      pulse.low_at_vil_s = vil_s(next) - vil_s(fall);
      pulse.low_at_vih_s = vih_s(next) - vih_s(fall);
    }
    pulses.push_back(pulse);
  }
  return pulses;
}

double WidthUncertainty::of_mean(std::size_t count) const {
  return root_sum_square(single_s / std::sqrt(static_cast<double>(std::max<std::size_t>(count, 1))), common_s);
}

double threshold_width_u(double width_at_mid_s, double width_at_level_s, double mid_v, double level_v, double gain_ratio_u) {
  if (std::isnan(width_at_level_s) || std::abs(level_v - mid_v) < 1e-9) return 0;
  return 1.4 * std::abs((width_at_level_s - width_at_mid_s) / (level_v - mid_v)) * std::abs(level_v) * gain_ratio_u;
}

WidthUncertainty width_uncertainty(const States& states, const Accuracy& accuracy, double sample_interval_s, double rising_10_90_s,
                                   double falling_10_90_s) {
  Levels levels = states.levels;
  levels.low_v.u = states.low_u_v;
  levels.high_v.u = states.high_u_v;
  return width_uncertainty(levels, states.noise_rms_v.value.value_or(0), states.adc_step_v.value.value_or(0), sample_interval_s, rising_10_90_s,
                           falling_10_90_s, accuracy.timebase_ratio_u);
}

WidthUncertainty width_uncertainty(const Levels& levels, double noise_rms_v, double adc_step_v, double sample_interval_s,
                                   double rising_10_90_s, double falling_10_90_s, double timebase_ratio_u) {
  WidthUncertainty u{.single_s = 0, .common_ratio = timebase_ratio_u, .common_s = 0};
  if (!levels.amplitude_v || !(*levels.amplitude_v > 0)) return u;
  const double noise_v = std::max(noise_rms_v, adc_step_v / std::sqrt(12.0));
  const double mid_u_v = 0.5 * root_sum_square(levels.low_v.u, levels.high_v.u);
  for (const double duration_s : {rising_10_90_s, falling_10_90_s}) {
    // Seen through straight lines between samples, no edge is steeper than 0.8 of the amplitude in 0.8 sample intervals.
    const double seen_s = std::max(duration_s, 0.8 * sample_interval_s);
    const double slope_v_per_s = 0.8 * *levels.amplitude_v / seen_s;
    // Two noisy samples at a random phase between them: (1 - f)^2 + f^2 averages to 2/3.
    const double noise_s = std::sqrt(2.0 / 3.0) * noise_v / slope_v_per_s;
    const double between_s = instant_error_samples(duration_s / sample_interval_s) * sample_interval_s / std::sqrt(3.0);
    u.single_s = root_sum_square(u.single_s, noise_s, between_s);
    u.common_s += mid_u_v / slope_v_per_s;
  }
  return u;
}

WidthUncertainty logic_width_uncertainty(double sample_interval_s, double timebase_ratio_u) {
  return {.single_s = sample_interval_s / std::sqrt(6.0), .common_ratio = timebase_ratio_u, .common_s = 0};
}

}  // namespace pulsewright::analyzer
