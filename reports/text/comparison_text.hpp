#pragma once
// A comparison for a terminal.

#include <string>

#include "analyzer/compare.hpp"
#include "reports/text/layout.hpp"

namespace pulsewright::reports {

/// Result first, then each figure that moved, then what did not, the prediction held against what came, and the ranking
/// where more than two captures were given.
std::string comparison_text(const analyzer::Comparison& comparison, const TextStyle& style);

/// "better", "worse", "no clear change", "not comparable"
std::string said(analyzer::Change change);

/// "better", "worse", "changed", "same within uncertainty", or why it cannot be told.
std::string said(const analyzer::Difference& difference);

/// The unit of a difference as quantity() takes it: ratios as percent.
std::string_view shown_unit_of(const analyzer::Difference& difference);

}  // namespace pulsewright::reports
