#pragma once
// The comparison as one HTML file.

#include <string>

#include "analyzer/compare.hpp"
#include "reports/html/html_report.hpp"

namespace pulsewright::reports {

/// A complete document in UTF-8, on the same terms as html_report().
std::string comparison_report(const analyzer::Comparison& comparison, const ReportContext& context);

}  // namespace pulsewright::reports
