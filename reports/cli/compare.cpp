#include "analyzer/compare.hpp"

#include <algorithm>
#include <filesystem>

#include "analyzer/diagnose.hpp"
#include "importers/content.hpp"
#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/judge.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/progress.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/forum/comparison_post.hpp"
#include "reports/html/comparison_report.hpp"
#include "reports/json/comparison_json.hpp"
#include "reports/json/diagnosis_json.hpp"
#include "reports/png/comparison_picture.hpp"
#include "reports/text/comparison_text.hpp"

namespace pulsewright::cli {

namespace {

int status_of(analyzer::Change change) {
  switch (change) {
    case analyzer::Change::better: return 0;
    case analyzer::Change::worse: return 1;
    case analyzer::Change::no_clear_change: return 2;
    case analyzer::Change::not_comparable: break;
  }
  return 3;
}

/// One value a capture, or one for the last capture alone.
std::optional<double> series_ohm_of(const Arguments& arguments, std::size_t index) {
  const auto& given = arguments.series_ohms;
  if (given.size() == arguments.captures.size()) return given[index];
  if (given.size() == 1 && index + 1 == arguments.captures.size()) return given.front();
  return {};
}

bool is_stored_diagnosis(const std::string& file) { return file.ends_with(".json"); }

/// The tree of a JSON text takes up to some 40 times its bytes; the library that builds it cannot report a lack of memory
/// at every place, so that a text too large for the limit is refused before.
analyzer::Diagnosis stored(const std::string& file, std::size_t memory_limit_bytes) {
  constexpr std::size_t most_bytes = 256 << 20, tree_bytes_per_byte = 40;
  const auto fitting = memory_limit_bytes == 0 ? most_bytes : std::min(most_bytes, memory_limit_bytes / tree_bytes_per_byte);
  importers::InputBytes input(file, std::max(fitting, std::size_t{1}));
  return reports::read_diagnosis_json(input.small(), file);
}

analyzer::Diagnosis judged(const Arguments& arguments, const analyzer::Settings& common, std::size_t index, Progress& progress) {
  const auto& file = arguments.captures[index];
  if (is_stored_diagnosis(file)) return stored(file, arguments.import.memory_limit_bytes);
  auto settings = common;
  settings.series_ohm = series_ohm_of(arguments, index);
  auto options = arguments.import;
  options.progress = progress.fraction();
  progress.begin("reading " + file);
  const auto capture = importers::import_file(file, options);
  progress.begin("judging " + file);
  return analyzer::diagnose(capture, settings);
}

std::vector<std::string> labels_of(const Arguments& arguments) {
  if (!arguments.labels.empty()) return arguments.labels;
  std::vector<std::string> labels;
  for (const auto& file : arguments.captures) labels.push_back(std::filesystem::path(file).filename().string());
  return labels;
}

}  // namespace

int compare(const Arguments& arguments) {
  if (arguments.captures.size() < 2) throw UsageError("compare takes two captures or more; see \"pulsewright compare --help\"");
  if (!arguments.labels.empty() && arguments.labels.size() != arguments.captures.size())
    throw UsageError("--label: expected one for each of the " + std::to_string(arguments.captures.size()) + " captures, found " +
                     std::to_string(arguments.labels.size()));
  if (arguments.series_ohms.size() > 1 && arguments.series_ohms.size() != arguments.captures.size())
    throw UsageError("--series-ohms: expected one value, or one for each capture, found " + std::to_string(arguments.series_ohms.size()));
  auto inputs = arguments.captures;
  inputs.push_back(arguments.windows_file);
  Outputs outputs(inputs);
  outputs.announce("html", arguments.html_file);
  outputs.announce("json", arguments.json_file);
  outputs.announce("forum", arguments.forum_file);
  outputs.announce("png", arguments.png_file);
  if (arguments.png_file == "-" && standard_output_is_terminal())
    throw UsageError("--png -: a picture does not go to a terminal; name a file or a pipe");

  auto settings = arguments.settings;
  settings.own_windows = own_windows(arguments.windows_file);
  std::vector<analyzer::Diagnosis> diagnoses;
  {
    Progress progress;
    for (std::size_t i = 0; i < arguments.captures.size(); ++i) diagnoses.push_back(judged(arguments, settings, i, progress));
  }
  const auto comparison = analyzer::compare(std::move(diagnoses), labels_of(arguments));

  if (!arguments.html_file.empty()) {
    outputs.stage(arguments.html_file, reports::comparison_report(comparison, {.program_version = version_alone(),
                                                                               .command_line = arguments.command_line,
                                                                               .title = arguments.settings.title,
                                                                               .forum_markdown = reports::comparison_post(comparison, reports::Markup::markdown, arguments.question),
                                                                               .forum_bbcode = reports::comparison_post(comparison, reports::Markup::bbcode, arguments.question)}));
  }
  if (!arguments.forum_file.empty())
    outputs.stage(arguments.forum_file, reports::comparison_post(comparison, markup_of(arguments.forum_file), arguments.question));
  if (!arguments.png_file.empty()) outputs.stage(arguments.png_file, reports::comparison_png(comparison));
  if (!arguments.json_file.empty()) outputs.stage(arguments.json_file, reports::comparison_json(comparison));
  outputs.commit();
  if (!arguments.quiet && !outputs.use_standard_output())
    write_standard_output(reports::comparison_text(comparison, style_of_standard_output()));
  return status_of(comparison.result);
}

}  // namespace pulsewright::cli
