#pragma once
// Times of all rows -> stretches of even steps.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "importers/text/rows.hpp"

namespace pulsewright::importers::text {

/// Rows [begin, end) without a break.
struct Stretch {
  std::uint64_t begin = 0, end = 0;
  double first_s = 0, last_s = 0;
  double step_min_s = 0, step_max_s = 0;

  std::uint64_t rows() const { return end - begin; }
  /// (last - first) / (n - 1): rounding of the printed times averages out.
  double interval_s() const { return rows() > 1 ? (last_s - first_s) / static_cast<double>(rows() - 1) : 0; }
};

struct TimeAxis {
  std::vector<Stretch> stretches;
  std::uint64_t gaps = 0;      ///< steps far above the interval
  std::uint64_t restarts = 0;  ///< time starts again
  bool even = true;            ///< every stretch is a straight line within the printed digits
  double step_min_s = 0, step_max_s = 0;  ///< over all steps that are not restarts
  /// The first row of its kind, and the step to it.
  struct Step {
    std::uint64_t row;
    double step_s;
  };
  std::optional<Step> backwards;  ///< time falls without starting again
  std::optional<Step> restart;    ///< time falls
  std::optional<Step> odd;        ///< a step unlike the expected one
};

/// `interval_s`: expected, 0 when unknown. A change list has no gaps.
TimeAxis find_stretches(const Rows& rows, double interval_s, double resolution_s, bool change_list);

/// The largest grid of which all steps are multiples within the resolution: the tick of the instrument.
double tick_of(const Rows& rows, double resolution_s);

}  // namespace pulsewright::importers::text
