#pragma once
// Passes over many samples at memory speed, on up to two threads.

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

/// Calls `work(first, last, part)` for consecutive parts of [0, size): one part below `least_a_part`, else two on two
/// threads. `work` must not throw. Returns the number of parts.
std::size_t in_parts(std::size_t size, std::size_t least_a_part,
                     const std::function<void(std::size_t first, std::size_t last, std::size_t part)>& work);

/// Smallest and largest value of all or of [from, to); there must be one at least.
Extremes extremes_of(const BlockedValues& blocked);
Extremes extremes_of(const BlockedValues& values, std::size_t from, std::size_t to);

/// Extremes of each block, for BlockedValues.
std::vector<Extremes> block_extremes(std::span<const float> values);

/// Index of the first value above (below) `limit` at or after `from`, or `to` where there is none before it.
std::size_t first_above(const BlockedValues& values, std::size_t from, std::size_t to, float limit);
std::size_t first_below(const BlockedValues& values, std::size_t from, std::size_t to, float limit);

/// How many values lie within `within` of `level`, counting only runs of at least `least_run` such values.
std::size_t count_in_runs(const BlockedValues& blocked, float level, float within, std::size_t least_run);

/// Counts of values: bin i covers [first + i width, first + (i + 1) width); values outside go to the end bins.
struct ValueHistogram {
  double first = 0, width = 1;
  std::vector<std::size_t> counts;
  double centre(std::size_t bin) const { return first + (static_cast<double>(bin) + 0.5) * width; }
};
ValueHistogram histogram_of(std::span<const float> values, double first, double width, std::size_t bins);

/// A passage through the band between two limits.
struct Passage {
  std::size_t last_out = 0;  ///< last sample still beyond the limit on the old side
  std::size_t first_in = 0;  ///< first sample beyond the limit on the new side
  bool up = false;
};

/// All passages through the band between `low` and `high`, alternating up and down.
std::vector<Passage> passages_of(const BlockedValues& values, float low, float high);

}  // namespace pulsewright::analyzer
