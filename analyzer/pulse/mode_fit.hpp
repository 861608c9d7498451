#pragma once
// Least squares of a level plus damped sinusoids.

#include <span>
#include <vector>

#include "analyzer/pulse/damped_modes.hpp"

namespace pulsewright::analyzer {

struct ModeFit {
  bool converged = false;
  std::vector<DampedMode> modes;             ///< in the order of the start values
  std::vector<double> frequency_u_hz, damping_u_per_s, amplitude_u;
  double level = 0, level_u = 0;             ///< what the sum settles to
  double rms_residual = 0;
};

/// y(t) = level + sum of modes, t from 0 in steps of `interval_s`. Variable projection: level, amplitudes and phases are
/// linear, frequencies and dampings by Gauss-Newton with step control from `start`. A start mode with frequency 0 stays a
/// decaying exponential. Standard uncertainties from the Jacobian and the residuals, at least `least_noise` a sample,
/// widened by the autocorrelation of the residuals (an imperfect model does not average out).
ModeFit fit_modes(std::span<const double> y, double interval_s, std::vector<DampedMode> start, double least_noise);

}  // namespace pulsewright::analyzer
