#include "analyzer/pulse/levels.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <vector>

namespace pulsewright::analyzer {

std::pair<double, double> histogram_levels(std::span<const double> values, std::size_t bins) {
  assert(!values.empty() && bins > 0);
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  const double width = (*high - *low) / static_cast<double>(bins);
  if (!(width > 0)) return {*low, *low};
  std::vector<std::size_t> counts(bins, 0);
  for (const double v : values) ++counts[std::min(static_cast<std::size_t>((v - *low) / width), bins - 1)];
  // The extremes themselves fill the first and the last bin; the halves meet in the middle bin.
  const auto middle = counts.begin() + static_cast<std::ptrdiff_t>((bins - 1) / 2 + 1);
  const auto centre = [&, start = *low](auto place) { return start + (static_cast<double>(place - counts.begin()) + 0.5) * width; };
  return {centre(std::max_element(counts.begin(), middle)), centre(std::max_element(middle, counts.end()))};
}

Shorth shorth(std::span<const double> values) {
  assert(!values.empty());
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  const std::size_t half = sorted.size() / 2 + 1;
  std::size_t best = 0;
  for (std::size_t i = 0; i + half <= sorted.size(); ++i)
    if (sorted[i + half - 1] - sorted[i] < sorted[best + half - 1] - sorted[best]) best = i;
  const auto first = sorted.begin() + static_cast<std::ptrdiff_t>(best);
  const auto last = first + static_cast<std::ptrdiff_t>(half);
  return {.low = *first, .high = *(last - 1), .mean = std::accumulate(first, last, 0.0) / static_cast<double>(half)};
}

std::pair<Shorth, Shorth> shorth_levels(std::span<const double> values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  const double middle = (*low + *high) / 2;
  std::vector<double> lower, upper;
  for (const double v : values) (v <= middle ? lower : upper).push_back(v);
  if (upper.empty()) upper = lower;
  return {shorth(lower), shorth(upper)};
}

}  // namespace pulsewright::analyzer
