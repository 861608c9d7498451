#pragma once
// Whether all pulses of a class lie within their window.

#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/pulse_statistics.hpp"

namespace pulsewright::analyzer {

struct WidthAnswer {
  Outcome result = Outcome::cannot_tell;
  Measured value;                  ///< the width nearest to, or furthest beyond, a limit
  double threshold_share = 0;      ///< share of the possible receiver thresholds at which a width lies outside, 0..1
  bool threshold_decides = false;  ///< inside at the mid level, outside for a receiver that switches nearer VIL or VIH
};

/// Judges the narrowest and the widest pulse. Where the spread is no more than the instrument's own (largest of n
/// normal deviates, sqrt(2 ln n) u; one grid step for a logic capture), the mean speaks for all of them.
///
/// The uncertainty of the answer includes the limits' own: printed in whole nanoseconds, 1 ns / sqrt(12).
///
/// The receiver switches somewhere between VIL and VIH, so the width that it sees lies between those at the two levels.
/// A width that is inside at the mid level but outside at some thresholds (linear between VIL, mid and VIH) is
/// marginal, and fails where that is so at more than half of them. A pulse that never gets to VIH has no width there.
WidthAnswer judge_widths(const WidthStatistics& widths, const Window& window, const IntervalError& error);

}  // namespace pulsewright::analyzer
