#pragma once

#include <cstddef>
#include <span>

namespace pulsewright::analyzer {

/// The samples of one channel in volts as judged: scale and offset carry `--multiply`, `--invert` and the mirror of
/// chips that idle high, so that the samples themselves are stored once.
struct SampleView {
  std::span<const float> values;
  double scale = 1, offset = 0;
  double sample_interval_s = 0;
  double start_s = 0;

  std::size_t size() const { return values.size(); }
  double operator[](std::size_t index) const { return scale * values[index] + offset; }
  double time_s(double index) const { return start_s + index * sample_interval_s; }
};

}  // namespace pulsewright::analyzer
