#include "analyzer/diagnose.hpp"

#include <memory>
#include <optional>

#include "importers/content.hpp"
#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"
#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/progress.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/forum/forum_post.hpp"
#include "reports/html/html_report.hpp"
#include "reports/json/diagnosis_json.hpp"
#include "reports/png/picture.hpp"
#include "reports/text/diagnosis_text.hpp"

namespace pulsewright::cli {

namespace {

int status_of(analyzer::Outcome outcome) {
  switch (outcome) {
    case analyzer::Outcome::pass: return exit_pass;
    case analyzer::Outcome::fail: return exit_fail;
    case analyzer::Outcome::marginal: return exit_marginal;
    case analyzer::Outcome::cannot_tell: break;
  }
  return exit_cannot_tell;
}

analyzer::Diagnosis judged(const Arguments& arguments) {
  Progress progress;
  analyzer::Settings settings = arguments.settings;
  settings.own_windows = own_windows(arguments.windows_file);
  importers::ImportOptions options = arguments.import;
  options.progress = progress.fraction();
  progress.begin("reading " + arguments.argument);
  const importers::Capture capture = importers::import_file(arguments.argument, options);
  std::optional<importers::Capture> near;
  const bool same = arguments.near_file == arguments.argument;
  if (!arguments.near_file.empty() && !same) {
    progress.begin("reading " + arguments.near_file);
    near = importers::import_file(arguments.near_file, options);
  }
  progress.begin("judging " + arguments.argument);
  const importers::Capture* near_end = arguments.near_file.empty() ? nullptr : same ? &capture : &*near;
  return analyzer::diagnose(capture, settings, near_end);
}

/// A flat line or a rail is a finding; a single edge is no capture of a data line.
void refuse_single_edge(const analyzer::Diagnosis& diagnosis) {
  if (diagnosis.rising.count + diagnosis.falling.count != 1) return;
  throw importers::ImportError(importers::ImportError::Kind::unusable_data, importers::printable(diagnosis.capture.file), {},
                               "a data line with whole pulses", "one edge in the whole record");
}

reports::Markup markup_of(const std::string& file) {
  return file.ends_with(".txt") ? reports::Markup::bbcode : reports::Markup::markdown;
}

void write_reports(const analyzer::Diagnosis& diagnosis, const Arguments& arguments, Outputs& outputs) {
  if (!arguments.html_file.empty()) {
    std::string name = version();
    name.pop_back();
    const reports::ReportContext context{
        .program_version = name.substr(name.find(' ') + 1),
        .command_line = arguments.command_line,
        .title = diagnosis.settings.title,
        .forum_markdown = reports::forum_post(diagnosis, reports::Markup::markdown, arguments.question),
        .forum_bbcode = reports::forum_post(diagnosis, reports::Markup::bbcode, arguments.question)};
    outputs.stage(arguments.html_file, reports::html_report(diagnosis, context));
  }
  if (!arguments.json_file.empty()) outputs.stage(arguments.json_file, reports::diagnosis_json(diagnosis));
  if (!arguments.forum_file.empty())
    outputs.stage(arguments.forum_file, reports::forum_post(diagnosis, markup_of(arguments.forum_file), arguments.question));
  if (!arguments.png_file.empty()) outputs.stage(arguments.png_file, reports::picture_png(diagnosis));
  outputs.commit();
}

}  // namespace

std::vector<analyzer::TimingWindows> own_windows(const std::string& file) {
  if (file.empty()) return {};
  constexpr std::size_t most_bytes = 4 << 20;
  const importers::InputBytes input(file, most_bytes);
  return analyzer::parse_windows(input.content().bytes, file == "-" ? "standard input" : file);
}

int diagnose(const Arguments& arguments) {
  Outputs outputs({arguments.argument, arguments.near_file, arguments.windows_file});
  outputs.announce("html", arguments.html_file);
  outputs.announce("json", arguments.json_file);
  outputs.announce("forum", arguments.forum_file);
  outputs.announce("png", arguments.png_file);
  if (arguments.png_file == "-" && standard_output_is_terminal())
    throw UsageError("--png -: a picture does not go to a terminal; name a file or a pipe");
  const analyzer::Diagnosis diagnosis = judged(arguments);
  refuse_single_edge(diagnosis);
  write_reports(diagnosis, arguments, outputs);
  if (!arguments.quiet && !outputs.use_standard_output())
    write_standard_output(reports::diagnosis_text(diagnosis, style_of_standard_output()));
  return status_of(diagnosis.verdict.result);
}

}  // namespace pulsewright::cli
