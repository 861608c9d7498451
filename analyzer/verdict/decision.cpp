#include "analyzer/verdict/decision.hpp"

#include <cmath>
#include <numbers>

namespace pulsewright::analyzer {

namespace {

double normal_cdf(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

int weight(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return 0;
    case Outcome::cannot_tell: return 1;
    case Outcome::marginal: return 2;
    case Outcome::fail: break;
  }
  return 3;
}

}  // namespace

Outcome decide(const Measured& value, std::optional<double> limit_low, std::optional<double> limit_high,
               double coverage_factor) {
  if (!value || (!limit_low && !limit_high)) return Outcome::cannot_tell;
  const double guard = coverage_factor * value.u;
  if ((limit_low && *value < *limit_low - guard) || (limit_high && *value > *limit_high + guard)) return Outcome::fail;
  if (limit_low && limit_high && guard > 0 && 2 * guard >= *limit_high - *limit_low) return Outcome::cannot_tell;
  const bool inside = (!limit_low || *value >= *limit_low + guard) && (!limit_high || *value <= *limit_high - guard);
  return inside ? Outcome::pass : Outcome::marginal;
}

double conformance_probability(double value, double u, std::optional<double> limit_low,
                               std::optional<double> limit_high) {
  const double below_high = limit_high ? normal_cdf((*limit_high - value) / u) : 1;
  const double below_low = limit_low ? normal_cdf((*limit_low - value) / u) : 0;
  return below_high - below_low;
}

Outcome worse(Outcome a, Outcome b) {
  return weight(a) >= weight(b) ? a : b;
}

}  // namespace pulsewright::analyzer
