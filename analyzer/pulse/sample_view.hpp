#pragma once

#include <algorithm>
#include <cstddef>
#include <span>

namespace pulsewright::analyzer {

struct Extremes {
  float low = 0, high = 0;
};

/// Values and the extremes of each `in_block` of them (the last block may be shorter), so that a search leaves out blocks that hold
/// nothing for it. Without extremes every value is looked at; what is found is the same.
struct BlockedValues {
  static constexpr std::size_t in_block = 64;

  std::span<const float> values;
  std::span<const Extremes> blocks = {};  ///< empty: not known

  std::size_t size() const { return values.size(); }
  std::size_t block_of(std::size_t index) const { return index / in_block; }
  /// First index of the next block, or `to` where that comes first; `to` without extremes.
  std::size_t block_end(std::size_t index, std::size_t to) const { return blocks.empty() ? to : std::min(to, (block_of(index) + 1) * in_block); }
};

/// The samples of one channel in volts as judged: scale and offset carry `--multiply`, `--invert` and the mirror of
/// chips that idle high, so that the samples themselves are stored once.
struct SampleView {
  std::span<const float> values;
  double scale = 1, offset = 0;
  double sample_interval_s = 0;
  double start_s = 0;
  std::span<const Extremes> blocks = {};  ///< of the values, see BlockedValues; may be empty

  std::size_t size() const { return values.size(); }
  BlockedValues blocked() const { return {values, blocks}; }
  double operator[](std::size_t index) const { return scale * values[index] + offset; }
  double time_s(double index) const { return start_s + index * sample_interval_s; }
};

}  // namespace pulsewright::analyzer
