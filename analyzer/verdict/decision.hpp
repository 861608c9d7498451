#pragma once
// The decision rule of every check.

#include <optional>

#include "analyzer/diagnosis.hpp"
#include "analyzer/measured.hpp"

namespace pulsewright::analyzer {

/// Coverage factor of the guard bands: U = 2 u.
inline constexpr double kCoverageFactor = 2;

/// Guard-banded decision after JCGM 106:2012 and ILAC-G8:09/2019 section 4.2 with guard band w = U = k u:
/// pass inside the limits reduced by U, fail outside the limits widened by U, marginal between (ILAC's conditional pass
/// and conditional fail). Cannot tell when there is no value, or when 2 U fills the whole window so that no reading
/// could pass; a reading further outside than U fails even then.
/// A limit that is missing does not bind. Without an uncertainty (u = 0) this is simple acceptance.
Outcome decide(const Measured& value, std::optional<double> limit_low, std::optional<double> limit_high,
               double coverage_factor = kCoverageFactor);

/// Probability that the quantity lies within its limits, given the reading and its standard uncertainty (JCGM 106:2012
/// clause 7, normal distribution). Needs u > 0.
double conformance_probability(double value, double u, std::optional<double> limit_low,
                               std::optional<double> limit_high);

/// The worse of two outcomes of a whole: fail, then marginal, then cannot tell, then pass.
Outcome worse(Outcome a, Outcome b);

}  // namespace pulsewright::analyzer
