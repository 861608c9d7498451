#include "analyzer/pulse/aberration.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "analyzer/pulse/converter.hpp"
#include "analyzer/pulse/edge_response.hpp"
#include "analyzer/verdict/phrases.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double boundary_ratio = 0.02;   // state boundaries either side of a state level
constexpr double settling_ratio = 0.05;
constexpr double region_durations = 3;    // length of the pre-transition aberration region
constexpr double least_samples_on_edge = 2;

/// The response from 0 (old state) to 1 (new state), smoothed over a twentieth of its own duration.
struct UnitStep {
  std::vector<double> t_s, y;
  std::vector<double> calm, calm_u;  ///< smoothed over a twelfth of the duration, and its standard error: for extremes
  std::size_t calm_width = 1;  ///< values in that mean
  double bin_s = 0;
  double noise = 0;     ///< standard error of one smoothed value after the edge, as a ratio of the amplitude
  double edge_noise = 0;  ///< the same on the edge
  double step_u = 0;    ///< what the converter's step leaves on a level stretch
  double tail_u = 0;    ///< what the transition before still leaves just before this one
  std::size_t size() const { return y.size(); }
};

// Mean over as many values on either side, `half` at most and fewer towards the ends, so that a slope moves none of them.
std::size_t values_beside(std::size_t i, std::size_t size, std::size_t half) { return std::min({half, i, size - 1 - i}); }

std::vector<double> smoothed(const std::vector<double>& y, std::size_t half) {
  std::vector<double> sums(y.size() + 1, 0), out(y.size());
  for (std::size_t i = 0; i < y.size(); ++i) sums[i + 1] = sums[i] + y[i];
  for (std::size_t i = 0; i < y.size(); ++i) {
    const std::size_t beside = values_beside(i, y.size(), half);
    out[i] = (sums[i + beside + 1] - sums[i - beside]) / static_cast<double>(2 * beside + 1);
  }
  return out;
}

std::size_t middle_of(const UnitStep& step) {
  return static_cast<std::size_t>(std::lower_bound(step.t_s.begin(), step.t_s.end(), 0.0) - step.t_s.begin());
}

// Crossing of `level` nearest to the 50 % instant, looking back or ahead.
std::optional<double> crossing_s(const UnitStep& step, double level) {
  auto i = middle_of(step);
  if (i == 0 || i >= step.size()) return {};
  const auto between = [&](std::size_t a) {
    const double rise = step.y[a + 1] - step.y[a];
    return step.t_s[a] + (rise > 0 ? (level - step.y[a]) / rise : 0.5) * step.bin_s;
  };
  if (level >= 0.5) {
    for (--i; i + 1 < step.size(); ++i)
      if (step.y[i] < level && step.y[i + 1] >= level) return between(i);
    return {};
  }
  for (; i > 0; --i)
    if (step.y[i] >= level && step.y[i - 1] < level) return between(i - 1);
  return {};
}

// The noise as read holds quantisation already; noise far below the converter's step still leaves an error of a step's width.
double noise_of_one_sample(const States& states) {
  return std::max(states.noise_rms_v.value.value_or(0), states.adc_step_v.value.value_or(0) / std::sqrt(12.0));
}

struct Shape {
  UnitStep step;
  double duration_s = 0;  ///< rough, 10-90 %
};

UnitStep unit_step(const EdgeResponse& response, const Levels& levels, bool rising) {
  UnitStep step;
  step.t_s = response.t_s, step.y = response.v, step.bin_s = response.bin_s;
  for (auto& y : step.y) y = (rising ? y - *levels.low_v : *levels.high_v - y) / *levels.amplitude_v;
  return step;
}

// Lower quartile over the bins between two instants: those beyond the short pulses hold fewer samples.
double samples_in_bin(const EdgeResponse& response, double from_s, double to_s) {
  std::vector<double> counts;
  for (std::size_t i = 0; i < response.t_s.size(); ++i)
    if (response.t_s[i] > from_s && response.t_s[i] < to_s) counts.push_back(response.samples[i]);
  if (counts.empty()) return 1;
  const auto rank = counts.begin() + static_cast<std::ptrdiff_t>(counts.size() / 4);
  std::nth_element(counts.begin(), rank, counts.end());
  return std::max(1.0, *rank);
}

// rms distance from the old state between one and five durations before the edge, less noise and converter step: tails and
// rings of the transition before, which add to what is measured of this one. They go on falling, so that half of it counts.
double residue_before(const UnitStep& step, double duration_s) {
  double squares = 0, n = 0;
  for (std::size_t i = 0; i < step.size() && step.t_s[i] < -duration_s; ++i)
    if (step.t_s[i] > -5 * duration_s) squares += step.y[i] * step.y[i], n += 1;
  return n > 0 ? 0.5 * std::sqrt(std::max(0.0, squares / n - step.noise * step.noise - step.step_u * step.step_u)) : 0;
}

// The mean of the middle half of normal values has 1.09 times the standard error of their mean (computed); between two bins of the
// grid, interpolation leaves 2/3 of the variance on average, which a mean over many does not gain again.
void find_calm(UnitStep& step, const std::vector<double>& samples, std::size_t half, double noise) {
  step.calm_width = 2 * half + 1;
  step.calm = smoothed(step.y, half);
  step.calm_u = smoothed(samples, half);
  for (std::size_t i = 0; i < step.size(); ++i) {
    const auto width = static_cast<double>(2 * values_beside(i, step.size(), half) + 1);
    step.calm_u[i] = 1.09 * noise * std::sqrt((1 - 1 / (3 * width)) / std::max(1.0, step.calm_u[i] * width));
  }
}

std::optional<Shape> shape_of(const EdgeResponse& response, const TransitionContext& context, const Levels& levels, bool rising) {
  auto step = unit_step(response, levels, rising);
  const auto t10 = crossing_s(step, 0.1), t90 = crossing_s(step, 0.9);
  if (!t10 || !t90) return {};
  const double duration_s = *t90 - *t10;
  const auto half = static_cast<std::size_t>(duration_s / 40 / step.bin_s);
  const double noise_v = noise_of_one_sample(*context.states);
  find_calm(step, response.samples, static_cast<std::size_t>(duration_s / 24 / step.bin_s), noise_v / *levels.amplitude_v);
  step.y = smoothed(step.y, half);
  // See find_calm() for the factors.
  const double in_one_sample = 1.09 * std::sqrt(2.0 / 3.0) * noise_v / *levels.amplitude_v;
  const auto noise_of = [&](double samples) { return in_one_sample / std::sqrt(samples * static_cast<double>(2 * half + 1)); };
  step.noise = noise_of(samples_in_bin(response, 0, response.t_s.back()));
  step.edge_noise = noise_of(samples_in_bin(response, -duration_s, duration_s));
  step.step_u = averaged_step_u(noise_v, context.states->adc_step_v.value.value_or(0)) / *levels.amplitude_v;
  step.tail_u = residue_before(step, duration_s);
  return Shape{std::move(step), duration_s};
}

// Duration between two levels; u from the noise of the response and the levels through the local slopes.
Measured duration_between(const Shape& shape, double from, double to, const TransitionContext& context, const Levels& levels) {
  const auto a = crossing_s(shape.step, from), b = crossing_s(shape.step, to);
  if (!a || !b) return Measured::none("the transition does not get from one reference level to the other");
  const auto slope_at = [&](double level) {
    const auto low = crossing_s(shape.step, level - 0.05), high = crossing_s(shape.step, level + 0.05);
    return low && high && *high > *low ? 0.1 / (*high - *low) : 0.8 / shape.duration_s;
  };
  const double low_u = context.states->low_u_v / *levels.amplitude_v, high_u = context.states->high_u_v / *levels.amplitude_v;
  const auto instant_u = [&](double level) {
    return root_sum_square(shape.step.edge_noise, (1 - level) * root_sum_square(low_u, shape.step.tail_u), level * high_u) / slope_at(level);
  };
  const double duration_s = *b - *a;
  const double samples = shape.duration_s / context.samples.sample_interval_s;
  // Alignment on interpolated instants smears the response: a rectangular error of the instant adds to the duration as
  // a root sum of squares (2.56 sigma is the 10-90 % duration of a Gaussian). Half of a percent more is not resolved.
  const double smear_s = 2.563 * interpolation_instant_ratio(samples) * shape.duration_s / std::sqrt(3.0);
  const double smear_u = 0.5 * smear_s * smear_s / duration_s;
  return Measured::of(duration_s, root_sum_square(instant_u(from), instant_u(to), smear_u,
                                                  context.accuracy.timebase_ratio_u * duration_s));
}

std::string at_most(double duration_s, double sample_interval_s) {
  return "at most " + phrases::seconds(duration_s) + ": fewer than 2 samples on the transition (one every " +
         phrases::seconds(sample_interval_s) + ")";
}

void set_durations(TransitionSummary& summary, const Shape& shape, const TransitionContext& context, const Levels& levels) {
  const double interval_s = context.samples.sample_interval_s;
  if (shape.duration_s < least_samples_on_edge * interval_s) {
    const auto why = at_most(std::max(shape.duration_s, interval_s), interval_s);
    for (auto* figure : {&summary.duration_10_90_s, &summary.duration_20_80_s, &summary.duration_10_90_corrected_s, &summary.slew_v_per_s})
      *figure = Measured::none(why);
    return;
  }
  summary.duration_10_90_s = duration_between(shape, 0.1, 0.9, context, levels);
  summary.duration_20_80_s = duration_between(shape, 0.2, 0.8, context, levels);
  summary.duration_10_90_corrected_s = context.bandwidth_hz ? without_bandwidth(summary.duration_10_90_s, *context.bandwidth_hz)
                                                            : Measured::none("bandwidth of scope and probe not stated");
  const auto middle = duration_between(shape, 0.4, 0.6, context, levels);
  if (middle && *middle > 0) {
    const double slew = 0.2 * *levels.amplitude_v / *middle;
    summary.slew_v_per_s = Measured::of(slew, slew * root_sum_square(middle.u / *middle, levels.amplitude_v.u / *levels.amplitude_v));
  } else {
    summary.slew_v_per_s = Measured::none("no slope at the 50 % instant");
  }
}

double normal_below(double x) { return 0.5 * std::erfc(-x / std::numbers::sqrt2); }

// Mean of the largest of n normal values, in standard deviations (within 0.07 of the tables up to 1000), and its own standard
// deviation (within 0.04).
double largest_of(double n) { return std::sqrt(2 * std::log(1 + (n - 1) / 4.5)); }
double spread_of_largest(double n) { return 1 / std::sqrt(1 + 0.82 * std::log(n)); }

// The largest of values with noise stands above the truth, the more the more of them compete for it: none beside a single peak,
// all on a flat top. From those within 2.5 standard errors of the largest follows how many compete, and what is taken back.
Measured largest_without_noise(const std::vector<double>& y, const std::vector<double>& u, std::size_t from, std::size_t width) {
  std::size_t top = from;
  for (std::size_t i = from; i < y.size(); ++i)
    if (y[i] - 2 * u[i] > y[top] - 2 * u[top]) top = i;
  double near = 0;
  for (std::size_t i = from; i < y.size(); ++i) near += y[i] > y[top] - 2.5 * u[top];
  near = std::max(1.0, 2 * near / static_cast<double>(width + 1));  // a sliding mean is new after half of its width
  double competitors = near;
  for (int pass = 0; pass < 4; ++pass) competitors = near / normal_below(2.5 - largest_of(competitors));
  const double out = largest_of(competitors) * u[top];
  return Measured::of(y[top] - out, root_sum_square(spread_of_largest(competitors) * u[top], 0.5 * out));
}

Measured excursion(const Measured& largest, double level_u) {
  return Measured::of(std::max(0.0, *largest), root_sum_square(largest.u, level_u));
}

// From the first instant within the boundaries of the new state to the end of the response.
void set_post_transition(TransitionSummary& summary, const UnitStep& step, double boundary, double new_u) {
  std::size_t entry = middle_of(step);
  while (entry < step.size() && step.y[entry] < 1 - boundary) ++entry;
  if (entry == step.size()) {
    summary.overshoot_ratio = summary.undershoot_ratio = Measured::none("the transition does not reach its new state before the next one");
    return;
  }
  std::vector<double> above(step.size()), below(step.size()), below_u = step.calm_u;
  std::size_t top = entry;
  for (std::size_t i = entry; i < step.size(); ++i) {
    if (step.calm[i] > step.calm[top]) top = i;
    above[i] = step.calm[i] - 1;
    below[i] = std::min(step.calm[top], 1.0) - step.calm[i];
    if (step.calm[top] < 1) below_u[i] = root_sum_square(step.calm_u[i], step.calm_u[top]);
  }
  const auto excursion_of = [&](const std::vector<double>& values, const std::vector<double>& u) {
    const auto largest = largest_without_noise(values, u, entry, step.calm_width);
    return excursion(largest, root_sum_square(new_u * (1 + std::abs(*largest)), step.step_u, step.tail_u));
  };
  summary.overshoot_ratio = excursion_of(above, step.calm_u);
  summary.undershoot_ratio = excursion_of(below, below_u);
}

// The mirror image before the transition, both signs together: what rises towards the edge for good is the edge itself.
void set_pre_transition(TransitionSummary& summary, const UnitStep& step, double boundary, double old_u, double region_s) {
  std::size_t leave = std::min(middle_of(step), step.size() - 1);
  while (leave > 0 && step.y[leave] > boundary) --leave;
  if (leave == 0) {
    summary.preshoot_ratio = Measured::none("the transition begins before the old state is reached");
    return;
  }
  const double begin_s = step.t_s[leave] - region_s;
  std::vector<double> away, away_u;
  std::size_t bottom = leave;
  for (std::size_t i = leave; i-- > 0 && step.t_s[i] >= begin_s;) {
    if (step.calm[i] < step.calm[bottom]) bottom = i;
    const double under = std::max(step.calm[bottom], 0.0);
    away.push_back(std::max(-step.calm[i], step.calm[i] - under));
    away_u.push_back(under > 0 ? root_sum_square(step.calm_u[i], step.calm_u[bottom]) : step.calm_u[i]);
  }
  const auto largest = away.empty() ? Measured::of(0) : largest_without_noise(away, away_u, 0, step.calm_width);
  summary.preshoot_ratio = excursion(largest, root_sum_square(old_u, step.step_u));
}

void set_aberrations(TransitionSummary& summary, const Shape& shape, const TransitionContext& context, const Levels& levels, bool rising) {
  const double boundary = std::max(boundary_ratio, 3 * shape.step.noise);
  const double low_u = context.states->low_u_v / *levels.amplitude_v, high_u = context.states->high_u_v / *levels.amplitude_v;
  set_post_transition(summary, shape.step, boundary, rising ? high_u : low_u);
  set_pre_transition(summary, shape.step, boundary, rising ? low_u : high_u, region_durations * shape.duration_s);
}

// Last instant outside a band about the new state, interpolated; none where it stays inside from the 50 % instant on.
std::optional<double> last_outside_s(const UnitStep& step, double band) {
  std::size_t last = step.size();
  while (last > 0 && std::abs(step.y[last - 1] - 1) <= band) --last;
  if (last == 0 || step.t_s[last - 1] < 0) return {};
  if (last == step.size()) return step.t_s.back();
  const double outside = std::abs(step.y[last - 1] - 1), inside = std::abs(step.y[last] - 1);
  const double part = outside > inside ? (outside - band) / (outside - inside) : 0.5;
  return step.t_s[last - 1] + std::clamp(part, 0.0, 1.0) * step.bin_s;
}

// A ring that just touches the band makes the instant jump by half a period: u from the instants for a band wider and
// narrower by one standard uncertainty of the waveform.
void set_settling(TransitionSummary& summary, const Shape& shape, const TransitionContext& context, const Levels& levels) {
  const auto& step = shape.step;
  const double level_u = std::max(context.states->low_u_v, context.states->high_u_v) / *levels.amplitude_v;
  const double waveform_u = root_sum_square(step.noise, step.step_u, step.tail_u, level_u);
  if (3 * waveform_u > settling_ratio) {
    summary.settling_s = Measured::none("noise and tails are as large as the settling band of 5 % of the amplitude");
    return;
  }
  const auto found = last_outside_s(step, settling_ratio);
  if (!found) {
    summary.settling_s = Measured::none("the response is too short to see it settle");
    return;
  }
  if (*found > 0.9 * step.t_s.back()) {
    summary.settling_s = Measured::none("still outside 5 % of the amplitude when the next transition begins");
    return;
  }
  const double early = last_outside_s(step, settling_ratio + waveform_u).value_or(0), late = last_outside_s(step, settling_ratio - waveform_u).value_or(*found);
  const double spread_s = std::max(*found - early, late - *found);
  summary.settling_s = Measured::of(*found, root_sum_square(spread_s, step.bin_s / std::sqrt(12.0), context.accuracy.timebase_ratio_u * *found));
}

void set_largest_overshoot(TransitionSummary& summary, const TransitionContext& context, const Levels& levels, bool rising) {
  const auto& peak = rising ? levels.peak_max_v : levels.peak_min_v;
  if (!peak || summary.count == 0) return;
  const double beyond_v = rising ? *peak - *levels.high_v : *levels.low_v - *peak;
  const double noise_v = noise_of_one_sample(*context.states);
  const double out_v = 0.5 * noise_v * std::sqrt(2 * std::log(static_cast<double>(summary.count) + 1));
  const double level_u_v = rising ? context.states->high_u_v : context.states->low_u_v;
  const double a = *levels.amplitude_v;
  summary.overshoot_max_ratio = excursion(Measured::of((beyond_v - out_v) / a, 0.6 * out_v / a), level_u_v / a);
}

void count_receiver_faults(TransitionSummary& summary, std::span<const Transition> transitions, bool rising) {
  bool both_reached = false, monotonic = true;
  for (const auto& t : transitions) {
    if (t.rising != rising) continue;
    ++summary.count;
    if (t.recrossings) ++summary.recrossings;
    both_reached |= !std::isnan(t.vil_offset_s) && !std::isnan(t.vih_offset_s);
    monotonic &= t.monotonic;
  }
  if (both_reached || !monotonic) summary.monotonic = monotonic;
}

std::vector<Measured*> figures_of(TransitionSummary& s) {
  return {&s.duration_10_90_s, &s.duration_20_80_s, &s.duration_10_90_corrected_s, &s.slew_v_per_s, &s.overshoot_ratio,
          &s.undershoot_ratio, &s.preshoot_ratio, &s.overshoot_max_ratio, &s.settling_s};
}

}  // namespace

TransitionSummary summarize_transitions(const TransitionContext& context, std::span<const Transition> transitions, const Levels& levels,
                                        bool rising) {
  TransitionSummary summary;
  count_receiver_faults(summary, transitions, rising);
  const auto missing = [&](const char* why) {
    for (auto* figure : figures_of(summary)) *figure = Measured::none(why);
    return summary;
  };
  if (context.samples.values.empty()) return missing("a logic capture carries timing only");
  if (!levels.amplitude_v || !levels.low_v || !levels.high_v || !context.states) return missing("no two states");
  if (summary.count < 2) return missing(summary.count ? "only one such transition" : "no such transition");
  summary.response = edge_response(context.samples, transitions, rising, levels);
  set_largest_overshoot(summary, context, levels, rising);
  const auto shape = shape_of(summary.response, context, levels, rising);
  if (!shape) {
    const auto largest = summary.overshoot_max_ratio;
    missing("the transition does not get from 10 % to 90 % before the next one");
    summary.overshoot_max_ratio = largest;
    return summary;
  }
  set_durations(summary, *shape, context, levels);
  // Where the foot of the next transition is still in the response it would pass for an undershoot of 2 or 3 %.
  const auto without_foot = shape_of(edge_response(context.samples, transitions, rising, levels, {.apart = true}), context, levels, rising);
  set_aberrations(summary, without_foot ? *without_foot : *shape, context, levels, rising);
  set_settling(summary, *shape, context, levels);
  return summary;
}

}  // namespace pulsewright::analyzer
