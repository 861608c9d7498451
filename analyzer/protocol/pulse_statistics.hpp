#pragma once
// Distribution of the pulse widths, and what they depend on.

#include <span>
#include <string>

#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/frames.hpp"
#include "analyzer/pulse/pulse.hpp"

namespace pulsewright::analyzer {

/// How well one interval is known.
struct IntervalError {
  WidthUncertainty width;
  double grid_s = 0;  ///< grid of the instants for a logic capture, else 0

  double of_one_s(double width_s) const;
  /// Of the mean of `count` intervals with standard deviation `sd_s`. Readings that all fall on one grid step do not
  /// average: the sampling clock may be locked to the data.
  double of_mean_s(double mean_s, double sd_s, std::size_t count) const;
};

PulseSummary summarize_pulses(std::span<const BitPulse> pulses, const FrameCutting& cutting, const TimingWindows& windows,
                              const IntervalError& error);

/// A summary without a pulse, every figure missing because of `why`.
PulseSummary no_pulses(const std::string& why);

}  // namespace pulsewright::analyzer
