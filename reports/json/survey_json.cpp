#include "reports/json/survey_json.hpp"

#include "reports/json/writer.hpp"

namespace pulsewright::reports {

namespace {

void entry_fields(json::Writer& out, const SurveyEntry& entry) {
  const auto text_or_null = [&](const char* key, const std::string& text) {
    out.optional<std::string>(key, text.empty() ? std::nullopt : std::optional(text));
  };
  out.text("file", entry.file);
  out.count("status", entry.status);
  text_or_null("complaint", entry.complaint);
  text_or_null("result", entry.judged() ? std::string(analyzer::to_string(entry.result)) : "");
  if (!entry.judged()) return;
  out.text("headline", entry.headline);
  text_or_null("cause", entry.cause);
  out.text("action", entry.action);
  out.text("advice", entry.advice);
  out.measured("margin", entry.margin);
  text_or_null("margin_check", entry.margin_check);
  out.measured("rise_duration_10_90_s", entry.rise_duration_10_90_s);
  out.measured("high_v", entry.high_v);
  out.measured("series_ohm_now", entry.series_ohm_now);
  out.measured("series_ohm", entry.series_ohm);
  text_or_null("sha256", entry.sha256);
  text_or_null("page", entry.page);
}

}  // namespace

std::string survey_json(const std::vector<SurveyEntry>& entries, int status) {
  nlohmann::ordered_json out;
  json::Writer writer(out);
  writer.schema("pulsewright.survey.v1");
  writer.count("status", status);
  std::array<std::size_t, severity_words.size()> counts{};
  for (const auto& entry : entries) ++counts[severity(entry)];
  json::Writer counted(out["counts"]);
  constexpr std::array<const char*, severity_words.size()> keys{"fail", "not-judged", "marginal", "cannot-tell", "pass"};
  for (std::size_t i = 0; i < keys.size(); ++i) counted.count(keys[i], counts[i]);
  auto& captures = out["captures"] = nlohmann::ordered_json::array();
  for (const auto& entry : entries) {
    json::Writer inner(captures.emplace_back());
    entry_fields(inner, entry);
  }
  return out.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace pulsewright::reports
