#include "analyzer/verdict/width_check.hpp"

#include <algorithm>
#include <cmath>

#include "analyzer/verdict/decision.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double kPrintedStep_s = 1e-9;  // the sheets print whole nanoseconds

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

// Share of a straight line from `a` to `b` that lies outside [low, high].
double share_outside(double a, double b, double low, double high) {
  const auto [least, most] = std::minmax(a, b);
  if (most - least < 1e-15) return most < low || least > high ? 1 : 0;
  const double inside = std::min(most, high) - std::max(least, low);
  return 1 - std::clamp(inside / (most - least), 0.0, 1.0);
}

// Over the thresholds from VIL through the mid level to VIH.
double threshold_share(const WidthStatistics& widths, double width_s, const Window& window, double guard_s) {
  const double low_s = window.min_s.value_or(0) - guard_s, high_s = window.max_s.value_or(1) + guard_s;
  const double at_vil_s = widths.at_vil_max_s ? width_s + *widths.at_vil_mean_s - *widths.mean_s : width_s;
  const double at_vih_s = widths.at_vih_min_s ? width_s + *widths.at_vih_mean_s - *widths.mean_s : 0;
  return (share_outside(at_vil_s, width_s, low_s, high_s) + share_outside(width_s, at_vih_s, low_s, high_s)) / 2;
}

}  // namespace

WidthAnswer judge_widths(const WidthStatistics& widths, const Window& window, const IntervalError& error) {
  WidthAnswer answer;
  answer.value = widths.mean_s;
  if (!widths.mean_s || (!window.min_s && !window.max_s)) return answer;
  const Measured narrow = representative(widths, widths.min_s, error);
  const Measured wide = representative(widths, widths.max_s, error);
  answer.value = distance_inside(narrow, window) <= distance_inside(wide, window) ? narrow : wide;
  answer.value.u = std::hypot(answer.value.u, kPrintedStep_s / std::sqrt(12.0));
  answer.result = decide(answer.value, window.min_s, window.max_s);
  const bool levels_known = widths.at_vil_mean_s || widths.at_vih_mean_s;
  if (answer.result != Outcome::pass || !levels_known) return answer;

  const auto share = [&](double guard_s) {
    return std::max(threshold_share(widths, *narrow, window, guard_s), threshold_share(widths, *wide, window, guard_s));
  };
  answer.threshold_share = share(0);
  if (answer.threshold_share <= 0) return answer;
  answer.threshold_decides = true;
  answer.result = share(kCoverageFactor * answer.value.u) > 0.5 ? Outcome::fail : Outcome::marginal;
  return answer;
}

}  // namespace pulsewright::analyzer
