#pragma once
// One capture: from file to diagnosis to reports. Shared by one capture, many, and those of a watched folder.

#include <string>

#include "analyzer/diagnosis.hpp"
#include "reports/cli/arguments.hpp"
#include "reports/forum/forum_post.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/progress.hpp"

namespace pulsewright::cli {

int status_of(analyzer::Outcome outcome);

/// Of a forum post by the ending of its file: .txt is BBCode, everything else Markdown.
reports::Markup markup_of(const std::string& file);

/// Own windows parsed, ready for every capture of this run.
analyzer::Settings settings_of(const Arguments& arguments);

/// `progress` may be null. Throws ImportError, SettingsError.
analyzer::Diagnosis judge(const std::string& capture, const Arguments& arguments, const analyzer::Settings& settings,
                          const importers::ImportOptions& import, Progress* progress);

/// Where the reports of one capture go, and what they say was asked.
struct ReportTargets {
  std::string html, json, forum, png;  ///< empty: none; "-": standard output
  std::string question;  ///< the command line without outputs and folders
  std::string title;
};

/// Stages every report that has a target; the caller commits.
void stage_reports(const analyzer::Diagnosis& diagnosis, const ReportTargets& targets, Outputs& outputs);

/// "0.1.0"
std::string version_alone();

}  // namespace pulsewright::cli
