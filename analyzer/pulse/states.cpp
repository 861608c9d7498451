// Levels of a record, refined on the settled ends of the plateaus.

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>
#include <vector>

#include "analyzer/pulse/converter.hpp"
#include "analyzer/pulse/first_levels.hpp"
#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/noise.hpp"
#include "analyzer/pulse/plateau.hpp"
#include "analyzer/pulse/sample_scan.hpp"
#include "importers/parallel.hpp"

namespace pulsewright::analyzer {

namespace {

struct Settled {
  std::optional<double> value_v;
  double u_v = 0;
};

// Of the middle half, in whatever order it stands.
double middle_mean(std::vector<double>& values, double* spread) {
  const std::size_t cut = values.size() / 4;
  const auto first = values.begin() + static_cast<std::ptrdiff_t>(cut), last = values.end() - static_cast<std::ptrdiff_t>(cut);
  std::nth_element(values.begin(), first, values.end());
  const double least = *first;
  std::nth_element(first, last - 1, values.end());
  const double most = *(last - 1);
  *spread = (most - least) / 1.349;
  return std::accumulate(first, last, 0.0) / static_cast<double>(last - first);
}

// What a level still does within the settled ends. Four equally long means that go one way by ever smaller steps are the end
// of an exponential: q1 + T / (1 - r^3) is where it leads (T the way from first to last, r the ratio of the steps), and half of
// the way that is left stays uncertain. Means that swing leave a third of their range. A level that leaves for the other state
// by more than a ring leaves of its swing is the next edge of a line that falls in steps: the first quarter is the best there is.
constexpr double most_of_a_ring = 0.3;  // of the swing, over the last third of a pulse
struct Settling {
  double correction_v = 0, u_v = 0;
};

Settling settling_of(const std::array<double, 4>& q, double noise_v, double leaving_v, double amplitude_v) {
  const auto [least, most] = std::minmax_element(q.begin(), q.end());
  const double range = *most - *least - 2 * noise_v;
  if (range <= 0) return {};
  if (leaving_v > most_of_a_ring * amplitude_v) return {q[0] - (q[0] + q[1] + q[2] + q[3]) / 4, leaving_v};
  const double early = q[2] - q[0], late = q[3] - q[1], way = q[3] - q[0];
  const double ratio = early != 0 ? late / early : 0;
  const bool one_way = (q[1] - q[0]) * way > 0 && (q[2] - q[1]) * way > 0 && (q[3] - q[2]) * way > 0;
  if (!one_way || std::abs(way) < 6 * noise_v) return {0, range / 3};
  if (!(ratio > 0 && ratio < 0.79)) return {0, std::abs(way)};  // more than the whole way is left: no guess is worth it
  const double left = way / (1 - ratio * ratio * ratio) - way;
  const double mean = (q[0] + q[1] + q[2] + q[3]) / 4;
  return {q[3] + left - mean, 0.5 * std::abs(left) + noise_v};
}

Settled settled_over(const std::vector<Plateau>& plateaus, bool high, double least, double amplitude_v, double noise_rms_v, double step_v) {
  std::vector<double> values;
  std::array<double, 4> quarters{};
  double used = 0;
  for (const auto& p : plateaus) {
    if (p.high != high || p.used == 0 || static_cast<double>(p.length()) < least) continue;
    values.push_back(p.value_v);
    for (std::size_t k = 0; k < 4; ++k) quarters[k] += p.quarter_v[k];
    used += static_cast<double>(p.used);
  }
  if (values.empty()) return {};
  const auto n = static_cast<double>(values.size());
  for (auto& q : quarters) q /= n;
  double spread = 0;
  const double value = middle_mean(values, &spread);
  const double noise = noise_rms_v / std::sqrt(used), step_u = averaged_step_u(noise_rms_v, step_v);
  const auto settling = settling_of(quarters, root_sum_square(2 * noise, step_u), high ? quarters[0] - quarters[3] : quarters[3] - quarters[0], amplitude_v);
  return {value + settling.correction_v, root_sum_square(spread / std::sqrt(n), noise, settling.u_v, step_u)};
}

// The longest plateaus have settled best: those of at least 0.8 of the long ones (90th percentile), or the pauses where
// they are four times as long and stand at the same level.
Settled settled_level(const std::vector<Plateau>& plateaus, bool high, double amplitude_v, double noise_rms_v, double step_v) {
  std::vector<double> lengths;
  for (const auto& p : plateaus)
    if (p.high == high && p.used > 0) lengths.push_back(static_cast<double>(p.length()));
  if (lengths.empty()) return {};
  const auto rank = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() * 9 / 10);
  std::nth_element(lengths.begin(), rank, lengths.end());
  const auto usual = settled_over(plateaus, high, 0.8 * *rank, amplitude_v, noise_rms_v, step_v);
  const auto pauses = settled_over(plateaus, high, 4 * *rank, amplitude_v, noise_rms_v, step_v);
  if (pauses.value_v && std::abs(*pauses.value_v - *usual.value_v) < 0.1 * amplitude_v) return pauses;
  return usual;
}

// Does noise spread the samples of the longest rests in a state over three codes at least? Two tell nothing: a level between them
// toggles with the least of noise. A level that noise moves over fewer than a fifth of a step rests on one code without any rail.
bool spreads_over_codes(const SampleView& samples, const std::vector<Plateau>& plateaus, bool state_high, double step_v) {
  std::size_t longest = 0;
  for (const auto& p : plateaus)
    if (p.high == state_high) longest = std::max(longest, p.length());
  std::vector<float> settled;
  for (const auto& p : plateaus)
    if (p.high == state_high && 10 * p.length() > 9 * longest)
      settled.insert(settled.end(), samples.values.begin() + static_cast<std::ptrdiff_t>(p.first + p.length() / 2), samples.values.begin() + static_cast<std::ptrdiff_t>(p.last - 1));
  if (settled.empty()) return false;
  const auto middle = settled.begin() + static_cast<std::ptrdiff_t>(settled.size() / 2);
  std::nth_element(settled.begin(), middle, settled.end());
  const double step = step_v / std::abs(samples.scale);
  constexpr std::size_t codes = 17;
  const auto counts = histogram_of(settled, static_cast<double>(*middle) - step * codes / 2, step, codes).counts;
  return std::count_if(counts.begin(), counts.end(), [&](auto n) { return 1000 * n > settled.size(); }) >= 3;
}

void count_clipped(const SampleView& samples, const Extremes& extremes, const std::vector<Plateau>& plateaus, States& states) {
  // A rail of the converter cuts noise off: values repeat exactly on it, while those on the settled line scatter.
  const double noise = states.noise_rms_v.value.value_or(0), step = states.adc_step_v.value.value_or(0);
  if (noise < 0.2 * step || !(noise > 0)) return;
  const auto within = static_cast<float>(1e-6 * (static_cast<double>(extremes.high) - static_cast<double>(extremes.low)));
  const auto away = static_cast<float>(std::max(step, noise) / std::abs(samples.scale));  // the next code or the next noise width
  const auto clipped_at = [&](float rail, float inwards) {
    const std::size_t on = count_in_runs(samples.blocked(), rail, within, 3);
    if (on == 0) return on;
    const std::size_t beside = count_in_runs(samples.blocked(), rail + inwards, std::max(within, static_cast<float>(0.3) * away), 1);
    return on > 3 * beside ? on : 0;
  };
  std::size_t high = 0, low = 0;
  importers::for_each_index(2, 2, [&](std::size_t rail) {
    if (rail == 0) high = clipped_at(extremes.high, -away);
    else low = clipped_at(extremes.low, away);
  });
  if (step > 0 && (high > 0) != (low > 0)) {
    const bool high_in_volts = (high > 0) == (samples.scale > 0);
    if (!spreads_over_codes(samples, plateaus, !high_in_volts, step)) high = low = 0;
  }
  states.clipped_high = samples.scale > 0 ? high : low;
  states.clipped_low = samples.scale > 0 ? low : high;
}

States one_state(States states, double mean_v, double u_v, const Accuracy& accuracy, std::string why) {
  states.two_states = false;
  states.one_state_because = why;
  states.levels.low_v = Measured::of(mean_v, root_sum_square(u_v, accuracy.gain_ratio_u * mean_v));
  states.levels.high_v = Measured::none(why);
  states.levels.amplitude_v = Measured::none(std::move(why));
  return states;
}

}  // namespace

States measure_states(const SampleView& samples, const Accuracy& accuracy) {
  States states;
  auto& levels = states.levels;
  for (auto* figure : {&levels.high_drift_v, &levels.low_drift_v, &levels.high_plateau_min_v, &levels.low_plateau_max_v,
                       &levels.high_plateau_max_v, &levels.low_rest_wander_v})
    *figure = Measured::none("no transitions");
  if (samples.values.empty()) {
    for (auto* figure : {&levels.peak_max_v, &levels.peak_min_v, &states.noise_rms_v, &states.adc_step_v})
      *figure = Measured::none("no samples");
    states.one_state_because = "no samples";
    levels.low_v = levels.high_v = levels.amplitude_v = Measured::none("no samples");
    return states;
  }
  const auto extremes = extremes_of(samples.blocked());
  const auto volts = [&](double raw) { return samples.scale * raw + samples.offset; };
  const auto ends_v = std::minmax({volts(static_cast<double>(extremes.low)), volts(static_cast<double>(extremes.high))});
  const double bottom_v = ends_v.first, top_v = ends_v.second;
  states.adc_step_v = adc_step(samples);
  const double step_v = states.adc_step_v.value.value_or(0);
  states.noise_rms_v = noise_of(samples, extremes, step_v);
  const double noise_v = states.noise_rms_v.value.value_or(0);
  // Noise below the step is not yet known well: both count until it is.
  const double point_v = root_sum_square(noise_v, step_v / std::sqrt(12.0));
  const auto set_peaks = [&](double u_v) {
    levels.peak_max_v = Measured::of(top_v, root_sum_square(u_v, accuracy.gain_ratio_u * top_v));
    levels.peak_min_v = Measured::of(bottom_v, root_sum_square(u_v, accuracy.gain_ratio_u * bottom_v));
  };
  set_peaks(point_v);
  if (!(top_v > bottom_v)) return one_state(states, top_v, 0, accuracy, "every sample has the same value");

  const auto first = first_levels(samples, extremes, step_v / std::abs(samples.scale));
  auto [low_v, high_v] = std::minmax({volts(first.low), volts(first.high)});
  if (high_v - low_v < 6 * noise_v || high_v - low_v < 2.5 * step_v)
    return one_state(states, (low_v + high_v) / 2, point_v, accuracy, "no two states stand out of the noise");

  const auto raw = [&](double v) { return static_cast<float>((v - samples.offset) / samples.scale); };
  const double band_v = std::clamp(5 * noise_v + step_v, 0.1 * (high_v - low_v), 0.25 * (high_v - low_v));
  const double middle_v = (low_v + high_v) / 2;
  const auto [lower, upper] = std::minmax({raw(middle_v - band_v), raw(middle_v + band_v)});
  const auto plateaus = plateaus_of(samples, passages_of(samples.blocked(), lower, upper));
  const double swing_v = high_v - low_v;
  Settled low, high;
  importers::for_each_index(2, 2, [&](std::size_t state) { (state == 0 ? low : high) = settled_level(plateaus, state == 1, swing_v, noise_v, step_v); });
  low_v = low.value_v.value_or(low_v);
  high_v = high.value_v.value_or(high_v);
  const double low_u = low.value_v ? low.u_v : point_v, high_u = high.value_v ? high.u_v : point_v;

  states.two_states = true;
  states.low_u_v = low_u;
  states.high_u_v = high_u;
  levels.low_v = Measured::of(low_v, root_sum_square(low_u, accuracy.gain_ratio_u * low_v));
  levels.high_v = Measured::of(high_v, root_sum_square(high_u, accuracy.gain_ratio_u * high_v));
  levels.amplitude_v = Measured::of(high_v - low_v, root_sum_square(low_u, high_u, accuracy.gain_ratio_u * (high_v - low_v)));
  double low_samples = 0;
  for (const auto& p : plateaus)
    if (!p.high) low_samples += static_cast<double>(p.length());
  states.low_share = low_samples / static_cast<double>(samples.size());
  Measured noise_rms_v;
  importers::for_each_index(2, 2, [&](std::size_t part) {
    if (part == 0) count_clipped(samples, extremes, plateaus, states);
    else noise_rms_v = noise_below_the_step(samples, plateaus, extremes, step_v, states.noise_rms_v);
  });
  states.noise_rms_v = noise_rms_v;
  if (states.noise_rms_v) set_peaks(std::max(*states.noise_rms_v, step_v / std::sqrt(12.0)));
  return states;
}

}  // namespace pulsewright::analyzer
