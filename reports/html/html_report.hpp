#pragma once
// The verdict as one HTML file: no network, no external font, readable without script and on paper.

#include <string>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports {

/// What a report says beside the diagnosis. All of it is data: escaped wherever it is shown.
struct ReportContext {
  std::string program_version;
  std::string command_line;     ///< to repeat the diagnosis
  std::string title;            ///< empty: the name of the capture file
  std::string forum_markdown;   ///< texts behind the copy buttons; empty: no button
  std::string forum_bbcode;
};

/// A complete document in UTF-8. Below 2 MB whatever the length of the record.
std::string html_report(const analyzer::Diagnosis& diagnosis, const ReportContext& context);

}  // namespace pulsewright::reports
