#include "analyzer/pulse/near_step.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "analyzer/pulse/accuracy.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double slope_over_s = 6e-9;   // a step is seen through a scope of 60 MHz or more
constexpr double least_dwell_s = 30e-9;
constexpr double least_step_ratio = 0.1;

struct Step {
  std::size_t first, last;  // bins
};

// Stretches that rise faster than a quarter of the steepest rise, each at least a tenth of the swing high.
std::vector<Step> steps_of(const EdgeResponse& edge, double swing_v) {
  const auto reach = static_cast<std::size_t>(std::max(1.0, std::round(slope_over_s / edge.bin_s)));
  std::vector<Step> steps;
  if (edge.v.size() < 4 * reach) return steps;
  std::vector<double> rise(edge.v.size() - reach);
  for (std::size_t i = 0; i < rise.size(); ++i) rise[i] = edge.v[i + reach] - edge.v[i];
  const double limit = 0.25 * *std::max_element(rise.begin(), rise.end());
  for (std::size_t i = 0; i < rise.size(); ++i) {
    if (rise[i] < limit) continue;
    std::size_t end = i;
    while (end < rise.size() && rise[end] >= limit) ++end;
    const Step step{i, std::min(end + reach, edge.v.size() - 1)};
    if (edge.v[step.last] - edge.v[step.first] > least_step_ratio * swing_v) steps.push_back(step);
    i = end;
  }
  return steps;
}

double mean_of(const std::vector<double>& v, std::size_t first, std::size_t last) {
  return std::accumulate(v.begin() + static_cast<std::ptrdiff_t>(first), v.begin() + static_cast<std::ptrdiff_t>(last), 0.0) /
         static_cast<double>(last - first);
}

NearStep none(const char* why) {
  return {.level_v = Measured::none(why), .round_trip_s = Measured::none(why), .source_ratio = Measured::none(why)};
}

}  // namespace

NearStep near_step(const EdgeResponse& rising, double low_v, double top_v) {
  if (rising.empty() || !(top_v > low_v)) return none("no response of the rising edge");
  const auto steps = steps_of(rising, top_v - low_v);
  if (steps.size() < 2) return none("the edge rises in one step");
  const auto &a = steps[0], &b = steps[1];
  if (b.first <= a.last || rising.t_s[b.first] - rising.t_s[a.last] < least_dwell_s) return none("the edge does not dwell");
  const std::size_t length = b.first - a.last, quarter = std::max<std::size_t>(1, length / 4);
  const double level_v = mean_of(rising.v, a.last, b.first);
  const double drift_v = mean_of(rising.v, b.first - quarter, b.first) - mean_of(rising.v, a.last, a.last + quarter);
  const std::size_t before = std::max<std::size_t>(1, std::min(a.first, quarter));
  const double start_v = a.first > 0 ? mean_of(rising.v, a.first - before, a.first) : rising.v.front();
  const double step_v = level_v - start_v, left_v = top_v - level_v;
  if (std::abs(drift_v) > 0.5 * step_v || !(left_v > 0)) return none("the edge does not dwell at one level");
  const double level_u = std::abs(drift_v) / 3 + 0.01 * (top_v - low_v);
  const double ratio = left_v / step_v;
  const auto middle_s = [&](const Step& s) { return (rising.t_s[s.first] + rising.t_s[s.last]) / 2; };
  const double lengths_s = (rising.t_s[a.last] - rising.t_s[a.first]) + (rising.t_s[b.last] - rising.t_s[b.first]);
  return {.level_v = Measured::of(level_v, level_u),
          .round_trip_s = Measured::of(middle_s(b) - middle_s(a), lengths_s / 4),
          .source_ratio = Measured::of(ratio, (1 + ratio) * level_u / step_v)};
}

}  // namespace pulsewright::analyzer
