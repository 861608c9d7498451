#pragma once
// Distribution of the pulse widths, and what they depend on.

#include <span>

#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/frames.hpp"

namespace pulsewright::analyzer {

/// How well one interval is known.
struct IntervalError {
  double u_s = 0;             ///< standard uncertainty of one interval: noise, sampling, interpolation
  double timebase_ratio = 0;  ///< limit of the sample clock's relative error (rectangular)
  double grid_s = 0;          ///< grid of the instants for a logic capture, else 0

  /// Of the mean of `count` intervals with standard deviation `sd_s`. Readings that all fall on one grid step do not
  /// average: the sampling clock may be locked to the data.
  double of_mean_s(double mean_s, double sd_s, std::size_t count) const;
  double of_one_s(double width_s) const;
};

PulseSummary summarize_pulses(std::span<const Pulse> pulses, const FrameCutting& cutting, const TimingWindows& windows,
                              const IntervalError& error);

}  // namespace pulsewright::analyzer
