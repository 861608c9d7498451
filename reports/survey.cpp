#include "reports/survey.hpp"

#include <algorithm>
#include <limits>
#include <tuple>

#include "analyzer/compare.hpp"
#include "reports/html/sections.hpp"

namespace pulsewright::reports {

SurveyEntry survey_entry(const analyzer::Diagnosis& diagnosis) {
  const auto ranked = analyzer::rank_capture(diagnosis, 0);
  SurveyEntry entry;
  entry.result = diagnosis.verdict.result;
  entry.headline = diagnosis.verdict.headline;
  if (!diagnosis.verdict.causes.empty()) entry.cause = diagnosis.verdict.causes.front().id;
  entry.action = html::action_in_short(diagnosis.suggestion);
  entry.advice = diagnosis.suggestion.text;
  entry.margin = ranked.margin;
  entry.margin_check = ranked.margin_check;
  entry.rise_duration_10_90_s = diagnosis.rising.duration_10_90_s;
  entry.high_v = diagnosis.levels.high_v;
  entry.series_ohm_now = diagnosis.suggestion.series_ohm_now;
  entry.series_ohm = diagnosis.suggestion.series_ohm;
  entry.sha256 = diagnosis.capture.sha256;
  return entry;
}

std::size_t severity(const SurveyEntry& entry) {
  if (!entry.judged()) return 1;
  switch (entry.result) {
    case analyzer::Outcome::fail: return 0;
    case analyzer::Outcome::marginal: return 2;
    case analyzer::Outcome::cannot_tell: return 3;
    case analyzer::Outcome::pass: break;
  }
  return 4;
}

void sort_worst_first(std::vector<SurveyEntry>& entries) {
  const auto key = [](const SurveyEntry& e) {
    return std::tuple(severity(e), e.margin.value.value_or(std::numeric_limits<double>::infinity()), std::string_view(e.file));
  };
  std::stable_sort(entries.begin(), entries.end(), [&](const SurveyEntry& a, const SurveyEntry& b) { return key(a) < key(b); });
}

std::string counts_in_words(const std::vector<SurveyEntry>& entries) {
  std::array<std::size_t, severity_words.size()> counts{};
  for (const auto& entry : entries) ++counts[severity(entry)];
  std::string words = std::to_string(entries.size()) + (entries.size() == 1 ? " file" : " files");
  const char* between = ": ";
  for (std::size_t i = 0; i < counts.size(); ++i) {
    if (counts[i] == 0) continue;
    words += between + std::to_string(counts[i]) + " " + severity_words[i];
    between = ", ";
  }
  return words;
}

}  // namespace pulsewright::reports
