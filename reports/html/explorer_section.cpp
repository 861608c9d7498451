#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "analyzer/line/preferred_values.hpp"
#include "reports/figures/figures.hpp"
#include "reports/html/html.hpp"
#include "reports/html/sections.hpp"

namespace pulsewright::reports::html {

namespace {

using analyzer::Candidate;
using analyzer::Suggestion;

/// Candidate at which the slider starts: the suggested one, else the one nearest to what is fitted now.
std::size_t start_index(const Suggestion& s) {
  const double wanted = s.series_ohm ? *s.series_ohm : s.series_ohm_now ? *s.series_ohm_now : 0;
  const auto nearest = std::min_element(s.candidates.begin(), s.candidates.end(), [&](const Candidate& a, const Candidate& b) {
    return std::abs(a.ohm - wanted) < std::abs(b.ohm - wanted);
  });
  return static_cast<std::size_t>(nearest - s.candidates.begin());
}

/// Paper has the E12 values, those that do, the suggested and the fitted one; the rest is left to the screen.
bool on_paper(const Suggestion& s, double ohm) {
  const auto is = [&](const analyzer::Measured& m) { return m && *m == ohm; };
  const bool does = s.acceptable_low_ohm && s.acceptable_high_ohm && ohm >= *s.acceptable_low_ohm && ohm <= *s.acceptable_high_ohm;
  const bool coarse = ohm == 0 || (ohm >= 10 && analyzer::is_preferred(analyzer::PreferredSeries::e12, ohm));
  return does || coarse || is(s.series_ohm) || is(s.series_ohm_now);
}

std::string not_below_zero(const analyzer::Measured& measured, std::string_view unit) {
  return measured ? words("span", "quantity", never_negative(measured, unit)) : figure_of(measured, unit);
}

std::string candidate_table(const Suggestion& s) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& c : s.candidates) {
    std::string name = escape(resistance(c.ohm));
    if (s.series_ohm && c.ohm == *s.series_ohm) name += " <b>suggested</b>";
    if (!on_paper(s, c.ohm)) name += "<span class=\"off-paper\"></span>";
    rows.push_back({name, badge(c.outcome), figure_of(c.margin, "1"), words("span", "limited", c.limited_by), not_below_zero(c.overshoot_ratio, "ratio"),
                    not_below_zero(c.duration_10_90_s, "s"), figure_of(c.high_margin_v, "V"), figure_of(c.low_margin_v, "V"),
                    figure_of(c.high_width_zero_s, "s"), figure_of(c.high_width_one_s, "s")});
  }
  return table("Every preferred value", {"resistor", "verdict", "smallest margin", "limited by", "overshoot", "10–90 %",
                                         "room above VIH", "room below VIL", "0, high time", "1, high time"}, rows);
}

std::string slider(const Suggestion& s, std::size_t start) {
  std::string out = fmt::format(
      "<div class=\"script-only\"><label for=\"ohm\">Series resistor:</label> <output id=\"ohm-shown\" for=\"ohm\">{}</output>\n"
      "<input type=\"range\" id=\"ohm\" min=\"0\" max=\"{}\" step=\"1\" value=\"{}\" aria-valuetext=\"{}\" autocomplete=\"off\">\n",
      escape(resistance(s.candidates[start].ohm)), s.candidates.size() - 1, start, escape(resistance(s.candidates[start].ohm)));
  out += fmt::format("<div class=\"tools\"><button type=\"button\" data-ohm=\"{}\">Suggested value</button>", start);
  if (s.series_ohm_now) {
    Suggestion now = s;
    now.series_ohm = s.series_ohm_now;
    out += fmt::format("<button type=\"button\" data-ohm=\"{}\">Fitted now</button>", start_index(now));
  }
  return out + "</div></div>\n";
}

std::string readout(const Candidate& c) {
  const auto row = [](std::string_view key, std::string_view name, const std::string& markup) {
    return fmt::format("<div><dt>{}</dt><dd data-shows=\"{}\">{}</dd></div>\n", name, key, markup);
  };
  return "<dl class=\"facts\" id=\"ohm-figures\">" + row("outcome", "Verdict", badge(c.outcome)) +
         row("margin", "Smallest margin", escape(quantity(c.margin, "1"))) + row("limited_by", "Limited by", escape(c.limited_by)) +
         row("overshoot_ratio", "Overshoot", escape(never_negative(c.overshoot_ratio, "ratio"))) +
         row("duration_10_90_s", "Edge, 10–90 %", escape(never_negative(c.duration_10_90_s, "s"))) +
         row("high_margin_v", "Room above VIH", escape(quantity(c.high_margin_v, "V"))) +
         row("low_margin_v", "Room below VIL", escape(quantity(c.low_margin_v, "V"))) +
         row("high_width_zero_s", "High time of a 0", escape(quantity(c.high_width_zero_s, "s"))) +
         row("high_width_one_s", "High time of a 1", escape(quantity(c.high_width_one_s, "s"))) + "</dl>\n";
}

}  // namespace

std::string explorer_section(const analyzer::Diagnosis& d) {
  const Suggestion& s = d.suggestion;
  if (s.candidates.empty()) {
    const std::string why = s.series_ohm.missing.empty() ? d.line.why_not : s.series_ohm.missing;
    return section("explorer", "Other resistors",
                   element("p", "no-figure", "No other values can be tried: " + escape(why.empty() ? "no line model" : why) + "."));
  }
  const std::size_t start = start_index(s);
  std::string body = words("p", "", "Method: " + s.method + ".");
  body += slider(s, start);
  body += element("div", "two", "<div id=\"ohm-figure\">" + figure_block(figures::candidate_waveform(d, s.candidates[start])) + "</div>" +
                                    readout(s.candidates[start]));
  body += figure_block(figures::margin_curve(d, {1080, 300}), "wide");
  body += disclosure("Every value in a table", candidate_table(s) + words("p", "paper-only", "On paper: 0 ohm, the E12 values from 10 ohm, and every value that will do. The file holds them all."), false);
  if (!s.assumptions.empty()) body += words("h3", "", "Assumed") + list(s.assumptions);
  return section("explorer", "Other resistors", body);
}

}  // namespace pulsewright::reports::html
