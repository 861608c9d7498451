#pragma once
// The step of the converter, and what averaging leaves of it.

#include "analyzer/measured.hpp"
#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

/// Spacing of the values that occur, in V: least squares through value against code number. Missing where they are not evenly
/// spaced.
Measured adc_step(const SampleView& samples);

/// Standard uncertainty that the converter's step leaves in the mean of many samples of one level: 1/sqrt(12) of the step
/// without noise; with noise of r steps the amplitude of the mean error falls as exp(-2 pi^2 r^2) / pi (first harmonic of the
/// quantiser's error; Widrow and Kollar, Quantization Noise, 2008: from memory). `noise_rms_v` as read, quantisation included.
double averaged_step_u(double noise_rms_v, double step_v);

}  // namespace pulsewright::analyzer
