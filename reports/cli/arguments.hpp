#pragma once
// The command line as a plain struct.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analyzer/settings.hpp"
#include "importers/import.hpp"
#include "reports/cli/options.hpp"

namespace pulsewright::cli {

struct Arguments {
  const Command* command = nullptr;  ///< null: only --help or --version was asked for
  bool help = false, version = false;

  std::vector<std::string> captures;  ///< diagnose: one or more; compare: two or more
  std::vector<std::string> labels;    ///< compare: one a capture, or none
  std::vector<double> series_ohms;    ///< compare: one a capture, or one for the last
  std::string argument;  ///< capture, or id of a protocol; may be empty for `protocols`
  analyzer::Settings settings;  ///< without own windows: those are in `windows_file`
  importers::ImportOptions import;
  std::string windows_file, near_file, watch_folder;
  std::string html_file, json_file, forum_file, png_file;
  bool quiet = false;
  std::string command_line;  ///< as typed, quoted for a shell
  std::string question;      ///< the same without outputs and folders: fit for others to read
  std::vector<std::string> asked_words;  ///< options without captures, outputs and what concerns many captures

  bool writes_report() const {
    return !html_file.empty() || !json_file.empty() || !forum_file.empty() || !png_file.empty();
  }
};

/// What would judge this one of many captures alone, fit for others to read.
std::string question_for(const Arguments& arguments, const std::string& capture);

/// `words` are those behind the program's name. Throws UsageError.
Arguments parse_arguments(const std::vector<std::string>& words);

}  // namespace pulsewright::cli
