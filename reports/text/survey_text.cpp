#include "reports/text/survey_text.hpp"

#include "reports/text/diagnosis_text.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

constexpr std::size_t longest_name = 32;  // columns: the rest of the line tells what is wrong

std::vector<Cell> cells(const SurveyEntry& entry) {
  std::string said = entry.complaint;
  if (entry.judged()) {
    said = entry.headline;
    if (entry.result != analyzer::Outcome::pass) said += " " + entry.action + ".";
  }
  return {{severity_words[severity(entry)], entry.judged() ? tone_of(entry.result) : Tone::warning},
          {one_line(file_alone(entry.file), longest_name), Tone::strong},
          {one_line(said), Tone::plain}};
}

}  // namespace

std::string survey_row(const SurveyEntry& entry, const TextStyle& style) { return table({cells(entry)}, style); }

std::string survey_text(const std::vector<SurveyEntry>& entries, const TextStyle& style) {
  std::vector<std::vector<Cell>> rows;
  for (const auto& entry : entries) rows.push_back(cells(entry));
  return toned(counts_in_words(entries), Tone::strong, style) + "\n\n" + table(rows, style);
}

}  // namespace pulsewright::reports
