#include "reports/html/survey_page.hpp"

#include <fmt/format.h>

#include "reports/html/html.hpp"
#include "reports/html/page_shell.hpp"
#include "reports/html/sections.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using namespace html;

std::string name_cell(const SurveyEntry& entry) {
  const std::string name = escape(one_line(file_alone(entry.file)));
  return entry.page.empty() ? name : fmt::format("<a href=\"{}\">{}</a>", escape(entry.page), name);
}

std::vector<std::string> judged_row(const SurveyEntry& entry) {
  return {name_cell(entry),
          badge(entry.result),
          escape(entry.headline),
          escape(entry.action),
          figure_of(entry.rise_duration_10_90_s, "s"),
          figure_of(entry.high_v, "V"),
          (entry.margin ? escape(number(*entry.margin)) : words("span", "missing", entry.margin.missing)) +
              (entry.margin_check.empty() ? "" : "<br>" + escape(entry.margin_check))};
}

std::string judged_table(const std::vector<SurveyEntry>& entries) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& entry : entries)
    if (entry.judged()) rows.push_back(judged_row(entry));
  if (rows.empty()) return words("p", "missing", "No capture was judged.");
  return table("Worst first", {"Capture", "Verdict", "In short", "What to do", "Rising edge", "High level", "Smallest margin"}, rows) +
         words("p", "note", "The margin is the smallest distance of a deciding figure from its limit, in units of the half-width of "
                            "its window, or of the limit itself where there is only one; below 0 it fails.");
}

std::string unjudged_section(const std::vector<SurveyEntry>& entries) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& entry : entries)
    if (!entry.judged()) rows.push_back({escape(one_line(file_alone(entry.file))), escape(entry.complaint)});
  return rows.empty() ? "" : section("not-judged", "Not judged", table("Files without a verdict", {"File", "Why"}, rows));
}

std::string repeat_section_of(const ReportContext& context) {
  return section("repeat", "Repeat it", facts({{"Command", words("code", "", context.command_line)},
                                               {"Program", escape("pulsewright " + context.program_version)}}));
}

}  // namespace

std::string survey_page(const std::vector<SurveyEntry>& entries, const ReportContext& context) {
  const std::string title = context.title.empty() ? "Captures at a glance" : context.title;
  std::string main = words("h1", "", title) + words("p", "headline", counts_in_words(entries));
  main += section("captures", "Verdicts", judged_table(entries));
  main += unjudged_section(entries);
  main += cautions_section();
  main += repeat_section_of(context);
  return page({.title = title + ": " + counts_in_words(entries), .body = element("main", "", main), .data_json = {}});
}

}  // namespace pulsewright::reports
