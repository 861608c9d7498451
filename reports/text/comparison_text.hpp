#pragma once
// A comparison for a terminal.

#include <string>

#include "analyzer/compare.hpp"
#include "reports/text/layout.hpp"

namespace pulsewright::reports {

/// Result first, then each figure that moved, wrong bits, and the prediction held against what came. Of more than two captures
/// the ranking comes first.
std::string comparison_text(const analyzer::Comparison& comparison, const TextStyle& style);

}  // namespace pulsewright::reports
