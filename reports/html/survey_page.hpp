#pragma once
// The summary of many captures: one HTML page that links their reports.

#include <string>
#include <vector>

#include "reports/html/html_report.hpp"
#include "reports/survey.hpp"

namespace pulsewright::reports {

/// A complete document in UTF-8, entries in the order given. Links lead to `page` of each entry in the same folder.
std::string survey_page(const std::vector<SurveyEntry>& entries, const ReportContext& context);

}  // namespace pulsewright::reports
