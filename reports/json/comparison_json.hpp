#pragma once
// The comparison as JSON, schema pulsewright.comparison.v1.

#include <string>

#include "analyzer/compare.hpp"

namespace pulsewright::reports {

/// `before` and `after` are the first and the last diagnosis, `captures` all of them where there are more than two.
std::string comparison_json(const analyzer::Comparison& comparison);

}  // namespace pulsewright::reports
