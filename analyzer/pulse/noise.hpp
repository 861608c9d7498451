#pragma once
// Noise of a record.

#include <vector>

#include "analyzer/measured.hpp"
#include "analyzer/pulse/plateau.hpp"
#include "analyzer/pulse/sample_scan.hpp"
#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

/// rms about the local mean on settled stretches, in V. `step_v` 0: no converter step seen.
Measured noise_of(const SampleView& samples, const Extremes& extremes, double step_v);

/// Noise finer than the converter's step shows in how often each code occurs while the line rests, whose level may lie anywhere
/// within a step: mean and standard deviation over all noise that explains the counts (flat prior up to one step), the
/// quantisation of step / sqrt(12) added. `seen` where that is above 0.7 steps or the longest plateaus hold too few samples.
Measured noise_below_the_step(const SampleView& samples, const std::vector<Plateau>& plateaus, const Extremes& extremes, double step_v,
                              const Measured& seen);

}  // namespace pulsewright::analyzer
