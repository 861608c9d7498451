#include "analyzer/pulse/damped_modes.hpp"

#include <fftw3.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <memory>
#include <mutex>
#include <numbers>

#include "analyzer/fftw_planner.hpp"

namespace pulsewright::analyzer {

namespace {

using std::numbers::pi;
constexpr std::size_t most_samples = 320;
constexpr std::size_t most_spectrum_points = 1u << 16;

// Poles of the pencil: Y holds y[i + j]; the row space of Y is spanned by [1 z z^2 ...].
Eigen::VectorXcd poles_of(const Eigen::VectorXd& y, unsigned order, double tolerance) {
  const Eigen::Index n = y.size(), pencil = n / 2;
  Eigen::MatrixXd hankel(n - pencil, pencil + 1);
  for (Eigen::Index j = 0; j <= pencil; ++j) hankel.col(j) = y.segment(j, n - pencil);
  const Eigen::BDCSVD<Eigen::MatrixXd> svd(hankel, Eigen::ComputeThinV);
  const auto& singular = svd.singularValues();
  Eigen::Index kept = 0;
  while (kept < singular.size() && singular[kept] > tolerance * singular[0] && (order == 0 || kept < static_cast<Eigen::Index>(order)))
    ++kept;
  kept = std::min(kept, pencil);
  if (kept == 0) return {};
  const Eigen::MatrixXd v = svd.matrixV().leftCols(kept);
  const Eigen::MatrixXd step = v.topRows(pencil).colPivHouseholderQr().solve(v.bottomRows(pencil));
  return step.eigenvalues();
}

Eigen::VectorXcd amplitudes_of(const Eigen::VectorXd& y, const Eigen::VectorXcd& poles) {
  Eigen::MatrixXcd powers(y.size(), poles.size());
  for (Eigen::Index k = 0; k < poles.size(); ++k) {
    std::complex<double> z = 1;
    for (Eigen::Index i = 0; i < y.size(); ++i, z *= poles[k]) powers(i, k) = z;
  }
  return powers.colPivHouseholderQr().solve(y.cast<std::complex<double>>());
}

}  // namespace

std::vector<DampedMode> matrix_pencil(std::span<const double> y, double sample_interval_s, unsigned order, double tolerance) {
  if (y.size() < 4 || !(sample_interval_s > 0)) return {};
  const std::size_t thin = (y.size() + most_samples - 1) / most_samples;
  Eigen::VectorXd kept(static_cast<Eigen::Index>((y.size() + thin - 1) / thin));
  for (Eigen::Index i = 0; i < kept.size(); ++i) kept[i] = y[static_cast<std::size_t>(i) * thin];
  if (kept.size() < 4 || kept.cwiseAbs().maxCoeff() == 0) return {};
  const double interval_s = sample_interval_s * static_cast<double>(thin);

  const auto poles = poles_of(kept, order, tolerance);
  if (poles.size() == 0) return {};
  const auto amplitudes = amplitudes_of(kept, poles);
  std::vector<DampedMode> modes;
  for (Eigen::Index k = 0; k < poles.size(); ++k) {
    const auto z = poles[k];
    if (z.imag() < 0 || std::abs(z) < 1e-12) continue;
    const auto log_z = std::log(z);
    const bool pair = z.imag() > 0;
    modes.push_back({.frequency_hz = log_z.imag() / (2 * pi * interval_s), .damping_per_s = -log_z.real() / interval_s,
                     .amplitude = (pair ? 2 : 1) * std::abs(amplitudes[k]), .phase_rad = std::arg(amplitudes[k])});
  }
  std::sort(modes.begin(), modes.end(), [](const auto& a, const auto& b) { return a.amplitude > b.amplitude; });
  return modes;
}

double strongest_line_hz(std::span<const double> y, double sample_interval_s, double lowest_hz, double highest_hz,
                         std::vector<double>* spectrum_hz, std::vector<double>* spectrum_v) {
  if (y.size() < 8) return 0;
  std::size_t padded = 64;
  while (padded < 4 * y.size() && padded < most_spectrum_points) padded *= 2;
  const std::size_t used = std::min(y.size(), padded), half = padded / 2 + 1;
  const std::unique_ptr<double, void (*)(void*)> in(fftw_alloc_real(padded), fftw_free);
  const std::unique_ptr<fftw_complex, void (*)(void*)> out(fftw_alloc_complex(half), fftw_free);
  const auto plan = [&] {
    const std::scoped_lock lock(fftw_planner());
    return fftw_plan_dft_r2c_1d(static_cast<int>(padded), in.get(), out.get(), FFTW_ESTIMATE);
  }();
  std::fill_n(in.get(), padded, 0.0);
  double gain = 0;
  for (std::size_t i = 0; i < used; ++i) {
    const double window = 0.5 - 0.5 * std::cos(2 * pi * (static_cast<double>(i) + 0.5) / static_cast<double>(used));
    in.get()[i] = window * y[i];
    gain += window / 2;
  }
  fftw_execute(plan);
  {
    const std::scoped_lock lock(fftw_planner());
    fftw_destroy_plan(plan);
  }

  const double bin_hz = 1 / (static_cast<double>(padded) * sample_interval_s);
  std::vector<double> amplitude(half);
  for (std::size_t k = 0; k < half; ++k) amplitude[k] = std::hypot(out.get()[k][0], out.get()[k][1]) / gain;
  if (spectrum_hz && spectrum_v) {
    spectrum_hz->clear();
    for (std::size_t k = 0; k < half; ++k) spectrum_hz->push_back(static_cast<double>(k) * bin_hz);
    *spectrum_v = amplitude;
  }
  auto k = std::max<std::size_t>(1, static_cast<std::size_t>(std::ceil(lowest_hz / bin_hz)));
  std::size_t best = 0;
  for (; k + 1 < half && static_cast<double>(k) * bin_hz <= highest_hz; ++k)
    if (amplitude[k] >= amplitude[k - 1] && amplitude[k] > amplitude[k + 1] && (best == 0 || amplitude[k] > amplitude[best])) best = k;
  if (best == 0 || amplitude[best] == 0) return 0;
  const double a = amplitude[best - 1], b = amplitude[best], c = amplitude[best + 1];
  const double bend = a - 2 * b + c;
  return (static_cast<double>(best) + (bend < 0 ? 0.5 * (a - c) / bend : 0)) * bin_hz;
}

double decrement_of_damping(double zeta) { return 2 * pi * zeta / std::sqrt(1 - zeta * zeta); }

double damping_of_decrement(double delta) { return delta / std::hypot(2 * pi, delta); }

double damping_of_overshoot(double overshoot_ratio) {
  const double log_overshoot = std::log(overshoot_ratio);
  return -log_overshoot / std::hypot(pi, log_overshoot);
}

}  // namespace pulsewright::analyzer
