#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <nlohmann/json.hpp>

#include "reports/html/html.hpp"
#include "reports/html/sections.hpp"

namespace pulsewright::reports::html {

namespace {

using analyzer::Candidate;
using analyzer::Diagnosis;

/// Numbers short enough for a figure; what is not finite becomes null.
template <class Values>
std::string array(const Values& values, int digits) {
  std::string text = "[";
  for (const auto value : values) {
    if (text.size() > 1) text += ',';
    if (std::isfinite(value)) fmt::format_to(std::back_inserter(text), "{:.{}g}", value, digits);
    else text += "null";
  }
  return text + "]";
}

std::string string(const std::string& text) {
  return nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::string field(std::string_view key, const std::string& json) { return fmt::format("\"{}\":{}", key, json); }

std::string candidate(const Candidate& c) {
  const auto text = [](const std::string& words) { return string(words); };
  std::string json = "{" + field("ohm", fmt::format("{:.6g}", c.ohm)) + "," + field("ohm_text", text(resistance(c.ohm)));
  json += "," + field("outcome", text(std::string(analyzer::to_string(c.outcome)))) + "," + field("limited_by", text(c.limited_by));
  const auto shown = [&](std::string_view key, const analyzer::Measured& m, std::string_view unit) {
    json += "," + field(key, text(quantity(m, unit)));
  };
  const auto not_below_zero = [&](std::string_view key, const analyzer::Measured& m, std::string_view unit) {
    json += "," + field(key, text(never_negative(m, unit)));
  };
  shown("margin", c.margin, "1");
  not_below_zero("overshoot_ratio", c.overshoot_ratio, "ratio");
  not_below_zero("duration_10_90_s", c.duration_10_90_s, "s");
  shown("high_margin_v", c.high_margin_v, "V");
  shown("low_margin_v", c.low_margin_v, "V");
  shown("high_width_zero_s", c.high_width_zero_s, "s");
  shown("high_width_one_s", c.high_width_one_s, "s");
  json += "," + field("t_s", array(c.waveform.t_s, 5)) + "," + field("v", array(c.waveform.v, 4)) + "," +
          field("band_v", array(c.waveform.band_v, 3));
  return json + "}";
}

}  // namespace

std::string page_data(const Diagnosis& d) {
  const auto& view = d.figures.record;
  std::string json = "{\"record\":{" + field("start_s", fmt::format("{:.9g}", view.start_s)) + "," +
                     field("column_s", fmt::format("{:.9g}", view.column_s)) + "," + field("min_v", array(view.min_v, 4)) + "," +
                     field("max_v", array(view.max_v, 4)) + "," +
                     field("unit", string(d.capture.relative_levels || d.capture.logic ? "" : "V")) + "},\"candidates\":[";
  bool first = true;
  for (const auto& c : d.suggestion.candidates) {
    if (!first) json += ",";
    json += candidate(c);
    first = false;
  }
  return json + "]}";
}

}  // namespace pulsewright::reports::html
