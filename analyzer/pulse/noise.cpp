#include "analyzer/pulse/noise.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "analyzer/pulse/accuracy.hpp"
#include "analyzer/pulse/converter.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t stretch_samples = 8;  // for noise about the local trend
constexpr std::size_t most_stretches = 4096;

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

}  // namespace pulsewright::analyzer
