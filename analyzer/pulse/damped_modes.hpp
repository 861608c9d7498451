#pragma once
// Sums of damped sinusoids: y[k] = sum of amplitude * exp(-damping t) * cos(2 pi f t + phase), t = k * sample_interval.

#include <span>
#include <vector>

namespace pulsewright::analyzer {

struct DampedMode {
  double frequency_hz = 0;  ///< 0 for a decaying exponential
  double damping_per_s = 0; ///< alpha; negative: growing
  double amplitude = 0;     ///< at the first sample, above 0
  double phase_rad = 0;     ///< of the cosine at the first sample
};

/// Matrix pencil (Hua and Sarkar 1990): singular values of the Hankel matrix with pencil parameter L = n/2 (at most 160
/// rows after evenly thinned data), the `order` largest kept, poles from the pencil of the shifted right singular vectors,
/// amplitudes by least squares. Conjugate pairs count as two of the order and come back as one mode. `order` 0: the
/// singular values above `tolerance` times the largest. Largest amplitude first. Empty with fewer than 4 samples.
std::vector<DampedMode> matrix_pencil(std::span<const double> y, double sample_interval_s, unsigned order,
                                      double tolerance = 1e-3);

/// Frequency of the largest line of the amplitude spectrum (Hann window, parabolic interpolation) between `lowest_hz` and
/// `highest_hz`; 0 where there is none. `spectrum_hz` and `spectrum_v` receive the spectrum when given.
double strongest_line_hz(std::span<const double> y, double sample_interval_s, double lowest_hz, double highest_hz,
                         std::vector<double>* spectrum_hz = nullptr, std::vector<double>* spectrum_v = nullptr);

/// Logarithmic decrement of a damping ratio and back; overshoot of a second-order step (mathematics).
double decrement_of_damping(double zeta);
double damping_of_decrement(double delta);
double damping_of_overshoot(double overshoot_ratio);

}  // namespace pulsewright::analyzer
