#include "reports/cli/judge.hpp"

#include <optional>

#include "analyzer/diagnose.hpp"
#include "importers/content.hpp"
#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"
#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/forum/forum_post.hpp"
#include "reports/html/html_report.hpp"
#include "reports/json/diagnosis_json.hpp"
#include "reports/png/picture.hpp"

namespace pulsewright::cli {

namespace {

/// A flat line or a rail is a finding; a single edge is no capture of a data line.
void refuse_single_edge(const analyzer::Diagnosis& diagnosis) {
  if (diagnosis.rising.count + diagnosis.falling.count != 1) return;
  throw importers::ImportError(importers::ImportError::Kind::unusable_data, importers::printable(diagnosis.capture.file), {},
                               "a data line with whole pulses", "one edge in the whole record");
}

}  // namespace

reports::Markup markup_of(const std::string& file) {
  return file.ends_with(".txt") ? reports::Markup::bbcode : reports::Markup::markdown;
}

int status_of(analyzer::Outcome outcome) {
  switch (outcome) {
    case analyzer::Outcome::pass: return exit_pass;
    case analyzer::Outcome::fail: return exit_fail;
    case analyzer::Outcome::marginal: return exit_marginal;
    case analyzer::Outcome::cannot_tell: break;
  }
  return exit_cannot_tell;
}

std::string version_alone() {
  const std::string line = version();
  const auto blank = line.find(' ');
  return line.substr(blank + 1, line.size() - blank - 2);
}

std::vector<analyzer::TimingWindows> own_windows(const std::string& file) {
  if (file.empty()) return {};
  constexpr std::size_t most_bytes = 4 << 20;
  importers::InputBytes input(file, most_bytes);
  return analyzer::parse_windows(input.small(), file == "-" ? "standard input" : file);
}

analyzer::Settings settings_of(const Arguments& arguments) {
  analyzer::Settings settings = arguments.settings;
  settings.own_windows = own_windows(arguments.windows_file);
  return settings;
}

analyzer::Diagnosis judge(const std::string& capture, const Arguments& arguments, const analyzer::Settings& settings,
                          const importers::ImportOptions& import, Progress* progress) {
  importers::ImportOptions options = import;
  if (progress != nullptr) options.progress = progress->fraction();
  const auto begin = [&](const std::string& what) {
    if (progress != nullptr) progress->begin(what);
  };
  begin("reading " + capture);
  const importers::Capture far = importers::import_file(capture, options);
  std::optional<importers::Capture> near;
  const bool asked = !arguments.near_file.empty() || settings.near_channel;
  const bool same = arguments.near_file.empty() || arguments.near_file == capture;
  if (asked && !same) {
    begin("reading " + arguments.near_file);
    near = importers::import_file(arguments.near_file, options);
  }
  begin("judging " + capture);
  auto diagnosis = analyzer::diagnose(far, settings, !asked ? nullptr : same ? &far : &*near);
  refuse_single_edge(diagnosis);
  return diagnosis;
}

void stage_reports(const analyzer::Diagnosis& diagnosis, const ReportTargets& targets, Outputs& outputs) {
  if (!targets.html.empty()) {
    const reports::ReportContext context{
        .program_version = version_alone(),
        .command_line = targets.question,
        .title = targets.title,
        .forum_markdown = reports::forum_post(diagnosis, reports::Markup::markdown, targets.question),
        .forum_bbcode = reports::forum_post(diagnosis, reports::Markup::bbcode, targets.question)};
    outputs.stage(targets.html, reports::html_report(diagnosis, context));
  }
  if (!targets.json.empty()) outputs.stage(targets.json, reports::diagnosis_json(diagnosis));
  if (!targets.forum.empty())
    outputs.stage(targets.forum, reports::forum_post(diagnosis, markup_of(targets.forum), targets.question));
  if (!targets.png.empty()) outputs.stage(targets.png, reports::picture_png(diagnosis));
}

}  // namespace pulsewright::cli
