#pragma once
// Noise of a record.

#include "analyzer/measured.hpp"
#include "analyzer/pulse/sample_scan.hpp"
#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

/// rms about the local mean on settled stretches, in V. `step_v` 0: no converter step seen.
Measured noise_of(const SampleView& samples, const Extremes& extremes, double step_v);

}  // namespace pulsewright::analyzer
