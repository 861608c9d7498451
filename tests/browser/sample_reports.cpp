// Writes the HTML verdicts of hand-made diagnoses into a folder, with the texts that the copy buttons must give.

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <string>

#include "analyzer/compare.hpp"
#include "reports/html/comparison_report.hpp"
#include "reports/html/html_report.hpp"
#include "reports/html/survey_page.hpp"
#include "tests/support/sample_comparison.hpp"
#include "tests/support/sample_diagnosis.hpp"

using namespace pulsewright;

namespace {

const std::string kHostile = "</textarea></script><script>document.title='owned'</script>";

void write(const std::filesystem::path& file, const std::string& text) {
  std::ofstream out(file, std::ios::binary);
  out << text;
  if (!out.flush()) throw std::runtime_error("cannot write " + file.string());
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) return 64;
  const std::filesystem::path folder = arguments[1];
  std::filesystem::create_directories(folder);
  reports::ReportContext context{.program_version = "0.1.0",
                                 .command_line = "pulsewright diagnose 'far 220 ohm.csv' --series-ohms 220 --length 18m",
                                 .title = "",
                                 .forum_markdown = "\n**Fail** & <edges>: 210 ns\n\n| figure | now |\n|---|---|\n| Ω | 220 |\n",
                                 .forum_bbcode = "[b]Fail[/b]\n[code]210 ns[/code]"};
  write(folder / "forum.md", context.forum_markdown);
  write(folder / "forum.txt", context.forum_bbcode);
  const auto put = [&](const std::string& name, const analyzer::Diagnosis& d) {
    write(folder / (name + ".html"), reports::html_report(d, context));
  };
  auto glitch = samples::overdamped();
  glitch.figures.record.max_v[2345] = 9.25F;
  put("overdamped", glitch);
  put("ringing", samples::ringing());
  put("pass", samples::pass());
  put("logic", samples::logic());
  put("empty", analyzer::Diagnosis{});
  const auto put_comparison = [&](const std::string& name, const analyzer::Comparison& comparison) {
    write(folder / (name + ".html"), reports::comparison_report(comparison, context));
  };
  put_comparison("comparison-better", samples::swap());
  put_comparison("comparison-same", samples::unchanged());
  put_comparison("comparison-other-probe", samples::other_probe());
  put_comparison("comparison-wrong-bits", samples::wrong_bits());
  put_comparison("comparison-series", samples::series());
  context.title = context.command_line = context.forum_markdown = kHostile;
  put("hostile", samples::hostile(samples::overdamped()));
  put_comparison("comparison-hostile", samples::hostile_labels());

  std::vector<reports::SurveyEntry> entries;
  for (const auto& d : {samples::overdamped(), samples::ringing(), samples::pass(), samples::logic(), samples::hostile(samples::overdamped())}) {
    entries.push_back(reports::survey_entry(d));
    entries.back().file = d.capture.file;
    entries.back().page = "overdamped.html";
  }
  entries.emplace_back().complaint = "expected a waveform, found text without columns of numbers";
  entries.back().file = kHostile;
  reports::sort_worst_first(entries);
  write(folder / "survey.html", reports::survey_page(entries, context));
  return 0;
}
