#pragma once
// The summary of many captures as JSON, schema pulsewright.survey.v1.

#include <string>
#include <vector>

#include "reports/survey.hpp"

namespace pulsewright::reports {

/// UTF-8 text, indented, with a newline at the end; `captures` in the order given. Keys as in pulsewright.diagnosis.v1; a
/// file without verdict has `result` null and its line in `complaint`.
std::string survey_json(const std::vector<SurveyEntry>& entries, int status);

}  // namespace pulsewright::reports
