#pragma once
// The verdicts on many captures for a terminal.

#include <string>
#include <vector>

#include "reports/survey.hpp"
#include "reports/text/layout.hpp"

namespace pulsewright::reports {

/// Counts, then a table in the order given: verdict, file, what is wrong and what to do. File names are made printable.
std::string survey_text(const std::vector<SurveyEntry>& entries, const TextStyle& style);

/// The rows of one capture alone, for what is told as it happens.
std::string survey_row(const SurveyEntry& entry, const TextStyle& style);

}  // namespace pulsewright::reports
