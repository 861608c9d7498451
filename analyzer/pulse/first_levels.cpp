#include "analyzer/pulse/first_levels.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <optional>
#include <random>
#include <span>
#include <vector>

namespace pulsewright::analyzer {

namespace {

// Extremes without the few stray samples that would move the middle: an extreme is stray when the thousandth part of the
// range next to it and a quarter of the range beyond hold at most 3 samples.
LevelPair without_strays(const ValueHistogram& histogram) {
  const auto& counts = histogram.counts;
  const std::size_t quarter = counts.size() / 4;
  const auto low_few = std::accumulate(counts.begin(), counts.begin() + static_cast<std::ptrdiff_t>(quarter), std::size_t{0});
  const auto high_few = std::accumulate(counts.end() - static_cast<std::ptrdiff_t>(quarter), counts.end(), std::size_t{0});
  LevelPair range{histogram.first, histogram.first + histogram.width * static_cast<double>(counts.size())};
  if (low_few <= 3) {
    const auto first = std::find_if(counts.begin() + static_cast<std::ptrdiff_t>(quarter), counts.end(), [](auto c) { return c > 0; });
    range.low = histogram.first + histogram.width * static_cast<double>(first - counts.begin());
  }
  if (high_few <= 3) {
    const auto last = std::find_if(counts.rbegin() + static_cast<std::ptrdiff_t>(quarter), counts.rend(), [](auto c) { return c > 0; });
    range.high = histogram.first + histogram.width * static_cast<double>(counts.rend() - last);
  }
  return range;
}

// Shortest stretch of bins that holds half of the samples of [from, to), and the mean inside.
std::optional<double> shorth_of_bins(const ValueHistogram& histogram, std::size_t from, std::size_t to) {
  const auto& counts = histogram.counts;
  std::size_t total = 0;
  for (std::size_t b = from; b < to; ++b) total += counts[b];
  if (total == 0) return {};
  const std::size_t half = total / 2 + 1;
  std::size_t best_first = from, best_last = to, held = 0;
  for (std::size_t first = from, last = from; first < to; held -= counts[first++]) {
    while (last < to && held < half) held += counts[last++];
    if (held < half) break;
    if (last - first < best_last - best_first) best_first = first, best_last = last;
  }
  double sum = 0, n = 0;
  for (std::size_t b = best_first; b < best_last; ++b) {
    sum += static_cast<double>(counts[b]) * histogram.centre(b);
    n += static_cast<double>(counts[b]);
  }
  return sum / n;
}

// One sample of each of `stretches` stretches, at changing places.
std::vector<float> thinned(std::span<const float> values, std::size_t stretches) {
  const auto length = static_cast<std::uint32_t>(values.size() / stretches);
  std::vector<float> taken(stretches);
  in_parts(stretches, stretches / 2, [&](std::size_t first, std::size_t last, std::size_t) {
    std::linear_congruential_engine<std::uint32_t, 1664525, 1013904223, 0> place(12345);
    place.discard(first);
    for (std::size_t s = first; s < last; ++s) taken[s] = values[s * length + (place() >> 8) % length];  // its upper bits are used
  });
  return taken;
}

// Counts of a long record from one sample in each of a quarter of a million stretches, at changing places so that no bit rate
// locks to them; from all samples where that leaves an outer quarter of the range nearly empty.
ValueHistogram occupation(std::span<const float> values, double first, double width, std::size_t bins) {
  constexpr std::size_t stretches = 1u << 18;
  if (values.size() > 16 * stretches) {
    auto histogram = histogram_of(thinned(values, stretches), first, width, bins);
    const auto quarter = static_cast<std::ptrdiff_t>(bins / 4);
    const auto& counts = histogram.counts;
    const auto bottom = std::accumulate(counts.begin(), counts.begin() + quarter, std::size_t{0});
    const auto top = std::accumulate(counts.end() - quarter, counts.end(), std::size_t{0});
    if (std::min(bottom, top) > 64) return histogram;
  }
  return histogram_of(values, first, width, bins);
}

}  // namespace

LevelPair first_levels(const SampleView& samples, const Extremes& extremes, double raw_step) {
  const double low = static_cast<double>(extremes.low), high = static_cast<double>(extremes.high);
  constexpr double finest = 2048;
  // Bins a whole number of converter steps wide, else some bins hold one code more than their neighbours.
  double width = (high - low) / finest;
  if (raw_step > 0) width = raw_step * std::max(1.0, std::round(width / raw_step));
  const auto bins = static_cast<std::size_t>(std::ceil((high - low) / width)) + 1;
  const auto histogram = occupation(samples.values, low - width / 2, width, bins);
  const auto range = without_strays(histogram);
  const auto split = static_cast<std::size_t>(std::clamp((range.middle() - histogram.first) / width, 1.0, static_cast<double>(bins - 1)));
  return {shorth_of_bins(histogram, 0, split).value_or(range.low), shorth_of_bins(histogram, split, bins).value_or(range.high)};
}

}  // namespace pulsewright::analyzer
