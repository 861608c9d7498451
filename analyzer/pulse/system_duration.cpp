// Transition durations and the measuring system: sampling, interpolation, bandwidth.

#include <algorithm>
#include <array>
#include <cmath>

#include "analyzer/pulse/aberration.hpp"

namespace pulsewright::analyzer {

namespace {

// Gaussian edge read through straight lines, worst phase of the sample clock (computed).
struct Interpolation {
  double samples, excess, instant;
};
constexpr std::array<Interpolation, 8> gaussian_linear{{{0.5, 2.20, 0.423},
                                                        {1, 0.62, 0.090},
                                                        {1.5, 0.34, 0.029},
                                                        {2, 0.19, 0.013},
                                                        {3, 0.088, 0.004},
                                                        {4, 0.050, 0.0016},
                                                        {5, 0.032, 0.0008},
                                                        {10, 0.008, 0.0001}}};

// Straight line in the logarithms between the table's rows, and beyond its ends.
double interpolated(double samples, double Interpolation::* column) {
  std::size_t k = 1;
  while (k + 1 < gaussian_linear.size() && gaussian_linear[k].samples < samples) ++k;
  const auto &a = gaussian_linear[k - 1], &b = gaussian_linear[k];
  const double part = std::log(samples / a.samples) / std::log(b.samples / a.samples);
  return std::exp(std::log(a.*column) + part * std::log(b.*column / a.*column));
}

// Error bound of the root-sum-square rule at a ratio of signal to system duration.
double rule_bound(double ratio) {
  if (ratio < 2) return 0.16 + (ratio - 1) * (0.07 - 0.16);
  if (ratio < 3) return 0.07 + (ratio - 2) * (0.04 - 0.07);
  return 0.04 * std::pow(3 / ratio, 1.75);
}

}  // namespace

double interpolation_excess_ratio(double samples) { return interpolated(samples, &Interpolation::excess); }

double interpolation_instant_ratio(double samples) { return interpolated(samples, &Interpolation::instant); }

Measured root_difference_square(const Measured& duration_s, const Measured& system_s) {
  if (!duration_s) return duration_s;
  if (!system_s) return system_s;
  const double square = *duration_s * *duration_s - *system_s * *system_s;
  if (!(square > 0)) return Measured::none("the measuring system is as slow as the edge it shows");
  const double t = std::sqrt(square);
  return Measured::of(t, root_sum_square(*duration_s / t * duration_s.u, *system_s / t * system_s.u));
}

Measured without_bandwidth(const Measured& duration_s, double bandwidth_hz) {
  if (!duration_s) return duration_s;
  if (!(bandwidth_hz > 0)) return Measured::none("bandwidth of scope and probe not stated");
  const double system = 0.35 / bandwidth_hz;
  const auto corrected = root_difference_square(duration_s, Measured::of(system));
  if (!corrected || *corrected < system)
    return Measured::none("the edge is faster than the stated bandwidth can show (below 0.35 / bandwidth)");
  return Measured::of(*corrected, root_sum_square(corrected.u, rule_bound(*corrected / system) * *corrected / std::sqrt(3.0)));
}

}  // namespace pulsewright::analyzer
