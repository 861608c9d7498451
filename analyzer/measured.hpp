#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <utility>

namespace pulsewright::analyzer {

/// A figure with its standard uncertainty (k = 1), or the reason why there is none.
/// Zero and NaN never stand for "unknown".
struct Measured {
  std::optional<double> value;
  double u = 0;         ///< standard uncertainty, in the unit of the value; 0 when it was not evaluated
  std::string missing;  ///< set exactly when there is no value

  static Measured of(double value, double u = 0) { return {.value = value, .u = u, .missing = {}}; }
  static Measured none(std::string why) { return {.value = {}, .u = 0, .missing = std::move(why)}; }

  explicit operator bool() const { return value.has_value(); }
  double operator*() const { return *value; }
};

}  // namespace pulsewright::analyzer
