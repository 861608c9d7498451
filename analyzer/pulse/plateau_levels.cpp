// Drift along frames and the extremes of the plateaus.

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <vector>

#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/plateau.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t least_plateaus = 16;  // in a frame, for a drift
constexpr double frame_pause_periods = 8;   // a pause this many periods long ends a frame

std::vector<Passage> passages_around(const SampleView& samples, std::span<const Transition> transitions) {
  std::vector<Passage> passages;
  passages.reserve(transitions.size());
  const auto last = static_cast<double>(samples.size() - 1);
  const auto index = [&](double t_s) { return std::clamp((t_s - samples.start_s) / samples.sample_interval_s, 0.0, last); };
  for (const auto& t : transitions) {
    const auto offset = [](float o) { return std::isnan(o) ? 0.0 : static_cast<double>(o); };
    const double begins = index(t.mid_s + std::min(0.0, offset(t.p10_offset_s)));
    const double ends = index(t.mid_s + std::max(0.0, offset(t.p90_offset_s)));
    passages.push_back({static_cast<std::size_t>(begins), static_cast<std::size_t>(std::ceil(ends)), t.rising == (samples.scale > 0)});
  }
  return passages;
}

struct Line {
  double slope = 0, slope_u = 0;
  bool usable = false;
};

// Least squares of value on place (-0.5 to 0.5 along the frame) and length, so that the mix of short and long pulses does
// not look like drift; slope per frame with its standard error.
Line drift_of(const std::vector<std::array<double, 3>>& points) {
  const auto n = static_cast<double>(points.size());
  if (n < static_cast<double>(least_plateaus)) return {};
  std::array<double, 3> mean{};
  for (const auto& p : points)
    for (std::size_t k = 0; k < 3; ++k) mean[k] += p[k] / n;
  double xx = 0, xl = 0, ll = 0, xv = 0, lv = 0;
  for (const auto& p : points) {
    const double x = p[0] - mean[0], l = p[1] - mean[1], v = p[2] - mean[2];
    xx += x * x, xl += x * l, ll += l * l, xv += x * v, lv += l * v;
  }
  const bool lengths_differ = xx * ll - xl * xl > 1e-9 * xx * ll && ll > 0;
  const double determinant = xx * ll - xl * xl;
  const double slope = lengths_differ ? (xv * ll - lv * xl) / determinant : xv / xx;
  const double by_length = lengths_differ ? (lv * xx - xv * xl) / determinant : 0;
  double squares = 0;
  for (const auto& p : points) {
    const double miss = p[2] - mean[2] - slope * (p[0] - mean[0]) - by_length * (p[1] - mean[1]);
    squares += miss * miss;
  }
  const double variance = squares / (n - 3);
  return {slope, std::sqrt(variance * (lengths_differ ? ll / determinant : 1 / xx)), xx > 0};
}

// The longest have settled best: a ring that is still strong at the end of the short ones moves with every shift of their ends.
std::vector<std::array<double, 3>> longest_of(const std::vector<std::array<double, 3>>& points) {
  if (points.empty()) return {};
  std::vector<double> lengths;
  for (const auto& p : points) lengths.push_back(p[1]);
  const auto rank = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() * 9 / 10);
  std::nth_element(lengths.begin(), rank, lengths.end());
  std::vector<std::array<double, 3>> longest;
  std::copy_if(points.begin(), points.end(), std::back_inserter(longest), [&](const auto& p) { return p[1] >= 0.8 * *rank; });
  return longest.size() >= least_plateaus ? longest : points;
}

// Weighted mean over the frames of the record.
Measured drift_along_frames(const std::vector<Plateau>& plateaus, bool high, std::size_t pause, double step_u, double gain_ratio_u) {
  double sum = 0, weights = 0;
  std::vector<std::array<double, 3>> points;
  const auto close_frame = [&] {
    if (!points.empty()) {
      const double first = points.front()[0], span = points.back()[0] - first;
      for (auto& p : points) p[0] = span > 0 ? (p[0] - first) / span - 0.5 : 0;
    }
    const auto line = drift_of(longest_of(points));
    points.clear();
    if (!line.usable) return;
    const double weight = 1 / (line.slope_u * line.slope_u + step_u * step_u);
    sum += weight * line.slope;
    weights += weight;
  };
  for (const auto& p : plateaus) {
    if (!p.high && p.length() > pause) {
      close_frame();
    } else if (p.high == high && p.used > 0 && p.whole) {
      points.push_back({static_cast<double>(p.first), static_cast<double>(p.length()), p.value_v});
    }
  }
  close_frame();
  if (weights <= 0) return Measured::none("no frame with 16 settled plateaus");
  const double drift_v = sum / weights;
  return Measured::of(drift_v, root_sum_square(1 / std::sqrt(weights), gain_ratio_u * drift_v));
}

// Means of short stretches of the longest pauses: of their third quarter, where no line rings or empties any more and no bits of
// the next frame stand that never got to the threshold. The largest and the smallest of many lie some three standard errors out.
Measured wander_at_rest(const SampleView& samples, const std::vector<Plateau>& plateaus, std::size_t pause, double noise_v) {
  constexpr std::size_t stretches = 256, most_in_stretch = 64;
  const std::size_t length = std::clamp<std::size_t>(pause / 16, 1, most_in_stretch);
  std::size_t longest = 0;
  for (const auto& p : plateaus) longest = std::max(longest, p.high ? 0 : p.length());
  double least = 0, most = 0, count = 0;
  for (const auto& p : plateaus) {
    if (p.high || p.length() < std::max(2 * pause + length, longest / 2)) continue;
    const std::size_t begin = p.first + p.length() / 2, room = std::max(p.length() / 4, length) - length;
    for (std::size_t k = 0; k < stretches; ++k, ++count) {
      const std::size_t from = begin + k * room / stretches;
      double mean = 0;
      for (std::size_t i = from; i < from + length; ++i) mean += samples[i] / static_cast<double>(length);
      least = count > 0 ? std::min(least, mean) : mean;
      most = count > 0 ? std::max(most, mean) : mean;
    }
  }
  if (count == 0) return Measured::none("no pause between frames in the record");
  const double mean_u = noise_v / std::sqrt(static_cast<double>(length));
  return Measured::of(std::max(0.0, most - least - 6 * mean_u), 2 * mean_u);
}

// The highest or lowest mean of all high or low plateaus between two transitions.
const Plateau* extreme_of(const std::vector<Plateau>& plateaus, bool high, bool highest, std::size_t pause, double& count) {
  const Plateau* found = nullptr;
  for (const auto& p : plateaus) {
    if (p.high != high || p.used == 0 || !p.whole || (!high && p.length() > pause)) continue;
    count += 1;
    if (!found || (highest ? p.value_v > found->value_v : p.value_v < found->value_v)) found = &p;
  }
  return found;
}

// Largest of many equally distributed means lies about c standard errors out; half of that is taken back and half kept
// as uncertainty, since one plateau may really stand out alone.
Measured extreme_plateau(const std::vector<Plateau>& plateaus, bool high, bool highest, std::size_t pause, double noise_v, double fixed_u) {
  double count = 0;
  const Plateau* worst = extreme_of(plateaus, high, highest, pause, count);
  if (!worst) return Measured::none("no plateau between two transitions has settled samples");
  const double mean_u = noise_v / std::sqrt(static_cast<double>(worst->used));
  const double out = 0.5 * mean_u * std::sqrt(2 * std::log(std::max(count, 1.0)));
  return Measured::of(worst->value_v + (highest ? -out : out), root_sum_square(mean_u, out, fixed_u));
}

}  // namespace

void measure_plateaus(const SampleView& samples, std::span<const Transition> transitions, const States& states, Levels& levels, const Accuracy& accuracy) {
  if (samples.size() < 2 || transitions.size() < 2) return;
  const auto plateaus = plateaus_of(samples, passages_around(samples, transitions));
  std::vector<std::size_t> periods;
  for (std::size_t i = 1; i + 1 < plateaus.size(); ++i) periods.push_back(plateaus[i].length() + plateaus[i + 1].length());
  std::size_t pause = samples.size();
  if (!periods.empty()) {
    const auto middle = periods.begin() + static_cast<std::ptrdiff_t>(periods.size() / 2);
    std::nth_element(periods.begin(), middle, periods.end());
    pause = static_cast<std::size_t>(frame_pause_periods * static_cast<double>(*middle));
  }
  const double noise_v = states.noise_rms_v.value.value_or(0), step_u = states.adc_step_v.value.value_or(0) / std::sqrt(12.0);
  levels.high_drift_v = drift_along_frames(plateaus, true, pause, 0.5 * step_u, accuracy.gain_ratio_u);
  levels.low_drift_v = drift_along_frames(plateaus, false, pause, 0.5 * step_u, accuracy.gain_ratio_u);
  levels.high_plateau_min_v = extreme_plateau(plateaus, true, false, pause, noise_v, root_sum_square(step_u, levels.high_v.u));
  levels.high_plateau_max_v = extreme_plateau(plateaus, true, true, pause, noise_v, root_sum_square(step_u, levels.high_v.u));
  levels.low_plateau_max_v = extreme_plateau(plateaus, false, true, pause, noise_v, root_sum_square(step_u, levels.low_v.u));
  levels.low_rest_wander_v = wander_at_rest(samples, plateaus, pause, noise_v);
}

}  // namespace pulsewright::analyzer
