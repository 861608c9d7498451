#pragma once
// Complex frequencies of the line's solver: what spectra and their derivatives are made of.

#include <Eigen/Dense>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "analyzer/line/line_model.hpp"

namespace pulsewright::analyzer {

using Complex = std::complex<double>;

inline constexpr double damping_over_span = 6;  // exp(-6) = 0.25 % of the next span wraps around
inline constexpr std::size_t lead_points = 16;  // grid points before t = 0: room for what the sigma factors leave of the corner

// Plain quotient and product: std::complex operators would test for infinities at every frequency.
inline Complex over(Complex a, Complex b) {
  const double scale = 1 / (b.real() * b.real() + b.imag() * b.imag());
  return {(a.real() * b.real() + a.imag() * b.imag()) * scale, (a.imag() * b.real() - a.real() * b.imag()) * scale};
}
inline Complex times(Complex a, Complex b) {
  return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

// Principal root of what lies in the upper half-plane.
inline Complex root(Complex z) {
  const double r = std::sqrt(z.real() * z.real() + z.imag() * z.imag());
  const double large = std::sqrt((r + std::abs(z.real())) / 2), small = z.imag() / (2 * large);
  return z.real() >= 0 ? Complex(large, small) : Complex(small, large);
}

inline double damping_of(double span_s) { return damping_over_span / span_s; }
inline Complex frequency(double span_s, std::size_t k) { return {damping_of(span_s), 2 * std::numbers::pi * static_cast<double>(k) / span_s}; }
// exp(-s t) over the frequencies of a grid, one after the other: a geometric sequence.
class Delay {
 public:
  Delay(double t_s, double span_s)
      : here_(std::exp(-damping_of(span_s) * t_s)), step_(std::polar(1.0, -2 * std::numbers::pi * t_s / span_s)) {}
  Complex next() {
    const Complex value = here_;
    here_ = times(here_, step_);
    return value;
  }

 private:
  Complex here_, step_;
};

// Lanczos' sigma factors sinc(2 k / points) of a grid, one after the other.
class SigmaFactors {
 public:
  explicit SigmaFactors(const LineGrid& grid) : angle_(2 * std::numbers::pi / static_cast<double>(grid.points)), turn_(std::polar(1.0, angle_)) {}
  double next() {
    const double at = angle_ * static_cast<double>(k_++), value = at == 0 ? 1 : here_.imag() / at;
    here_ = times(here_, turn_);
    return value;
  }

 private:
  double angle_;
  std::size_t k_ = 0;
  Complex turn_, here_{1, 0};
};

inline Complex ramp(Complex s, double edge_s, Complex delayed) {
  const Complex st = s * edge_s;
  if (std::norm(st) < 1e-6) return over(1.0 - st / 2.0 + times(st, st) / 6.0, s);
  return over(1.0 - delayed, times(s, st));
}

/// Back to the time domain, without what lies in the last points: the foot of the next period. The first `lead_points` lie before
/// t = 0. Destroys the spectrum.
std::vector<double> invert(Eigen::VectorXcd& spectrum, const LineGrid& grid);

}  // namespace pulsewright::analyzer
