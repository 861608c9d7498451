#include "analyzer/pulse/noise.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <optional>
#include <utility>
#include <vector>

#include "analyzer/pulse/accuracy.hpp"
#include "analyzer/pulse/converter.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t stretch_samples = 8;  // for noise about the local trend
constexpr std::size_t most_stretches = 4096;
constexpr std::size_t rest_samples = 64;    // of one rest, on the converter's codes
constexpr std::size_t most_rests = 64;
constexpr double coarse_steps = 0.7;        // noise below, in steps: the scatter says as much about where the level lies

// Standard deviation about a straight line over one stretch.
double scatter(const SampleView& samples, std::size_t begin) {
  constexpr double n = stretch_samples, sxx = n * (n * n - 1) / 12;
  double mean = 0, slope = 0, squares = 0;
  for (std::size_t i = 0; i < stretch_samples; ++i) mean += samples[begin + i] / n;
  for (std::size_t i = 0; i < stretch_samples; ++i)
    slope += (static_cast<double>(i) - (n - 1) / 2) * (samples[begin + i] - mean) / sxx;
  for (std::size_t i = 0; i < stretch_samples; ++i) {
    const double miss = samples[begin + i] - mean - slope * (static_cast<double>(i) - (n - 1) / 2);
    squares += miss * miss;
  }
  return std::sqrt(squares / (n - 2));
}

struct Pooled {
  double rms_v = 0;
  std::size_t stretches = 0;
};

// Stretches on edges and rings scatter far more than settled ones. From the quietest twentieth on (0.52 of the rms for six
// degrees of freedom, chi distribution), those up to 1.25 times the rms are pooled until the rms stays; the cut leaves 0.902
// of the rms of normal noise.
Pooled pool_quiet(std::vector<double> scatters, double step_v) {
  if (scatters.empty()) return {};
  const auto quiet = scatters.begin() + static_cast<std::ptrdiff_t>(scatters.size() / 20);
  std::nth_element(scatters.begin(), quiet, scatters.end());
  Pooled pooled{.rms_v = *quiet / 0.52};
  for (int pass = 0; pass < 8; ++pass) {
    const double limit = 1.25 * std::max(pooled.rms_v, 0.3 * step_v);
    double squares = 0;
    std::size_t n = 0;
    for (const double s : scatters)
      if (s <= limit) squares += s * s, ++n;
    if (n == 0) break;
    pooled = {std::sqrt(squares / static_cast<double>(n)) / 0.902, n};
  }
  return pooled;
}

}  // namespace

Measured noise_of(const SampleView& samples, const Extremes& extremes, double step_v) {
  if (samples.size() < 4 * stretch_samples) return Measured::none("record too short to see noise");
  const std::size_t possible = samples.size() / stretch_samples;
  const std::size_t count = std::min(possible, most_stretches);
  std::vector<double> all, off_rail;
  for (std::size_t s = 0; s < count; ++s) {
    const std::size_t begin = s * possible / count * stretch_samples;
    all.push_back(scatter(samples, begin));
    // A converter's rail hides the noise: a stretch without scatter on an extreme of the record may lie on one.
    const float raw = samples.values[begin];
    if (all.back() > 1e-6 * step_v || (raw != extremes.low && raw != extremes.high)) off_rail.push_back(all.back());
  }
  auto pooled = pool_quiet(off_rail, step_v);
  if (pooled.stretches < std::max<std::size_t>(2, count / 40)) pooled = pool_quiet(std::move(all), step_v);
  // Stretches that still move a little add some percent; a level that rests between two codes or on one reads wrong by up
  // to two thirds of what the step leaves.
  const double n = static_cast<double>(std::max<std::size_t>(pooled.stretches, 1));
  const double resting_u = 0.7 * averaged_step_u(pooled.rms_v, step_v);
  return Measured::of(pooled.rms_v, root_sum_square(pooled.rms_v / std::sqrt(12 * n), 0.06 * pooled.rms_v, resting_u));
}

namespace {

// How often each code occurs in one rest, counted from the most common one.
constexpr int widest_code = 4;
using Codes = std::array<double, 2 * widest_code + 1>;

std::optional<Codes> codes_of(const SampleView& samples, std::size_t begin, const Extremes& extremes, double step_v) {
  const auto values = samples.values.subspan(begin, rest_samples);
  std::vector<float> sorted(values.begin(), values.end());
  const auto middle = sorted.begin() + rest_samples / 2;
  std::nth_element(sorted.begin(), middle, sorted.end());
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  if (*least == *most && (*most == extremes.low || *most == extremes.high)) return {};  // perhaps a rail of the converter
  Codes codes{};
  for (const float v : values) {
    const double code = std::round((static_cast<double>(v) - static_cast<double>(*middle)) * std::abs(samples.scale) / step_v);
    ++codes[static_cast<std::size_t>(std::clamp(code, -1.0 * widest_code, 1.0 * widest_code) + widest_code)];
  }
  return codes;
}

// Likelihood of the codes at a noise of `sigma` steps, over all places of the level within a step; logarithm.
double log_likelihood(const std::vector<Codes>& rests, double sigma) {
  constexpr int places = 28;
  constexpr double stray = 1e-5;  // share of a code that a stray sample may hit
  std::vector<Codes> log_share(places);
  for (int k = 0; k < places; ++k)
    for (int c = -widest_code; c <= widest_code; ++c) {
      const double from = (c - 0.5 - (k - 13.5) / 20) / sigma, to = from + 1 / sigma;
      const double share = 0.5 * (std::erfc(from / std::numbers::sqrt2) - std::erfc(to / std::numbers::sqrt2));
      const int place = c + widest_code;
      log_share[static_cast<std::size_t>(k)][static_cast<std::size_t>(place)] = std::log(share + stray);
    }
  double sum = 0;
  for (const auto& codes : rests) {
    double most = -1e300, total = 0;
    std::array<double, places> of_place{};
    for (std::size_t k = 0; k < places; ++k) {
      of_place[k] = std::inner_product(codes.begin(), codes.end(), log_share[k].begin(), 0.0);
      most = std::max(most, of_place[k]);
    }
    for (const double l : of_place)
      if (l - most > -45) total += std::exp(l - most);  // less is below the last digit
    sum += most + std::log(total);
  }
  return sum;
}

std::vector<Codes> codes_at_rest(const SampleView& samples, const std::vector<Plateau>& plateaus, const Extremes& extremes, double step_v) {
  std::size_t longest = 0;
  for (const auto& p : plateaus) longest = std::max(longest, p.length());
  std::vector<std::size_t> begins;
  for (const auto& p : plateaus)
    if (2 * p.length() > longest)
      for (std::size_t i = p.first + p.length() / 2; i + rest_samples < p.last - p.length() / 10; i += rest_samples) begins.push_back(i);
  std::vector<Codes> rests;
  const std::size_t most = std::min(begins.size(), most_rests);
  for (std::size_t k = 0; k < most; ++k)
    if (const auto codes = codes_of(samples, begins[k * begins.size() / most], extremes, step_v)) rests.push_back(*codes);
  return rests;
}

}  // namespace

Measured noise_below_the_step(const SampleView& samples, const std::vector<Plateau>& plateaus, const Extremes& extremes, double step_v, const Measured& seen) {
  if (!seen || !(step_v > 0) || *seen > coarse_steps * step_v) return seen;
  const auto rests = codes_at_rest(samples, plateaus, extremes, step_v);
  if (rests.size() < 4) return seen;
  constexpr std::size_t sigmas = 100;
  std::array<double, sigmas> log_l{};
  for (std::size_t k = 0; k < sigmas; ++k) log_l[k] = log_likelihood(rests, 0.01 * static_cast<double>(k + 1));
  const double most = *std::max_element(log_l.begin(), log_l.end());
  double weights = 0, sum = 0, squares = 0;
  for (std::size_t k = 0; k < sigmas; ++k) {
    const double weight = std::exp(log_l[k] - most), rms = std::hypot(0.01 * static_cast<double>(k + 1), 1 / std::sqrt(12.0));
    weights += weight, sum += weight * rms, squares += weight * rms * rms;
  }
  const double mean = sum / weights;
  const double spread = std::sqrt(std::max(0.0, squares / weights - mean * mean));
  return Measured::of(mean * step_v, step_v * root_sum_square(spread, 0.01 / std::sqrt(12.0), 0.02 * mean));
}

}  // namespace pulsewright::analyzer
