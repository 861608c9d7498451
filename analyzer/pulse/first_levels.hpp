#pragma once
// Low and high state from the histogram of a record, before any plateau is known.

#include "analyzer/pulse/sample_scan.hpp"
#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

struct LevelPair {
  double low, high;
  double middle() const { return (low + high) / 2; }
};

/// In raw units of the samples: the mean of the shortest stretch of the histogram that holds half of the samples of each half of
/// the range, which a few stray samples do not move. `raw_step`: spacing of the values, 0 where none is seen.
LevelPair first_levels(const SampleView& samples, const Extremes& extremes, double raw_step);

}  // namespace pulsewright::analyzer
