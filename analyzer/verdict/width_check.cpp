#include "analyzer/verdict/width_check.hpp"

#include <algorithm>
#include <cmath>

#include "analyzer/verdict/decision.hpp"

namespace pulsewright::analyzer {

namespace {

// An extreme of the class, or the mean where the distance between them is the instrument's.
Measured representative(const WidthStatistics& widths, const Measured& extreme_s, const IntervalError& error) {
  const double n = static_cast<double>(std::max<std::size_t>(2, widths.count));
  const double own_s = std::max(1.2 * error.width.single_s * std::sqrt(2 * std::log(n)), 1.05 * error.grid_s);
  return std::abs(*extreme_s - *widths.mean_s) <= own_s ? widths.mean_s : extreme_s;
}

double distance_inside(const Measured& value, const Window& window) {
  double distance = 1;
  if (window.min_s) distance = std::min(distance, *value - *window.min_s);
  if (window.max_s) distance = std::min(distance, *window.max_s - *value);
  return distance;
}

bool outside(double width_s, const Window& window, double guard_s) {
  return (window.min_s && width_s < *window.min_s - guard_s) || (window.max_s && width_s > *window.max_s + guard_s);
}

}  // namespace

WidthAnswer judge_widths(const WidthStatistics& widths, const Window& window, const IntervalError& error) {
  WidthAnswer answer;
  answer.value = widths.mean_s;
  if (!widths.mean_s || (!window.min_s && !window.max_s)) return answer;
  const Measured narrow = representative(widths, widths.min_s, error);
  const Measured wide = representative(widths, widths.max_s, error);
  answer.value = distance_inside(narrow, window) <= distance_inside(wide, window) ? narrow : wide;
  answer.result = decide(answer.value, window.min_s, window.max_s);
  if (answer.result != Outcome::pass || !widths.at_vil_mean_s || !widths.at_vih_mean_s) return answer;

  const auto [low_shift_s, high_shift_s] =
      std::minmax({*widths.at_vil_mean_s - *widths.mean_s, *widths.at_vih_mean_s - *widths.mean_s});
  const double guard_s = kCoverageFactor * answer.value.u;
  if (outside(*narrow + low_shift_s, window, guard_s) || outside(*wide + high_shift_s, window, guard_s)) {
    answer.threshold_decides = true;
    answer.result = Outcome::marginal;
  }
  return answer;
}

}  // namespace pulsewright::analyzer
