#pragma once
// The sections of the verdict page, in their order on the page.

#include <string>
#include <string_view>

#include "analyzer/diagnosis.hpp"
#include "reports/html/html_report.hpp"

namespace pulsewright::reports::html {

// verdict_sections.cpp: the first screen, and the reasons
std::string verdict_section(const analyzer::Diagnosis& diagnosis, const ReportContext& context);
std::string why_section(const analyzer::Diagnosis& diagnosis);

// signal_sections.cpp: what was measured
std::string receiver_section(const analyzer::Diagnosis& diagnosis);
std::string edges_section(const analyzer::Diagnosis& diagnosis);
std::string ringing_section(const analyzer::Diagnosis& diagnosis);
std::string line_section(const analyzer::Diagnosis& diagnosis);
std::string near_far_section(const analyzer::Diagnosis& diagnosis);  ///< empty without a near capture
std::string record_section(const analyzer::Diagnosis& diagnosis);

// explorer_section.cpp: every candidate resistor
std::string explorer_section(const analyzer::Diagnosis& diagnosis);

// detail_sections.cpp: what to look things up in
std::string frames_section(const analyzer::Diagnosis& diagnosis);
std::string checks_section(const analyzer::Diagnosis& diagnosis);
std::string capture_section(const analyzer::Diagnosis& diagnosis);
std::string cautions_section();
std::string forum_section(const ReportContext& context);  ///< empty without a text
std::string repeat_section(const analyzer::Diagnosis& diagnosis, const ReportContext& context);

/// The cautions, one sentence each.
const std::vector<std::string>& cautions();

// page_data.cpp
/// What the script needs: the thinned record and every candidate with its texts.
std::string page_data(const analyzer::Diagnosis& diagnosis);

/// "Fit 75 Ω": the suggested action in a few words.
std::string action_in_short(const analyzer::Suggestion& suggestion);

}  // namespace pulsewright::reports::html
