#include "reports/text/protocols_text.hpp"

#include <fmt/format.h>

#include "reports/quantity.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::InputLevels;
using analyzer::TimingWindows;
using analyzer::Window;

std::string nanoseconds(const Window& window) {
  const auto side = [](const std::optional<double>& value) { return value ? number(*value * 1e9, 6) : std::string("-"); };
  if (window.empty()) return "-";
  if (window.min_s || window.max_s) return side(window.min_s) + ".." + side(window.max_s);
  return side(window.nominal_s);
}

std::string in_words(const Window& window) {
  if (window.empty()) return "not printed";
  std::string made;
  if (window.min_s && window.max_s) {
    made = quantity(*window.min_s, "s", 6) + " to " + quantity(*window.max_s, "s", 6);
  } else if (window.min_s) {
    made = "at least " + quantity(*window.min_s, "s", 6);
  } else if (window.max_s) {
    made = "at most " + quantity(*window.max_s, "s", 6);
  }
  if (window.nominal_s) made += (made.empty() ? "" : ", ") + std::string("nominal ") + quantity(*window.nominal_s, "s", 6);
  return made;
}

std::string levels_in_words(const InputLevels& levels) {
  const auto supply = [](double part) { return number(part) + " of the supply"; };
  switch (levels.basis) {
    case InputLevels::Basis::fraction_of_supply:
      return "high above " + supply(levels.vih) + ", low below " + supply(levels.vil);
    case InputLevels::Basis::volts:
      return "high above " + quantity(levels.vih, "V") + ", low below " + quantity(levels.vil, "V");
    case InputLevels::Basis::high_fraction_low_volts:
      return "high above " + supply(levels.vih) + ", low below " + quantity(levels.vil, "V");
    case InputLevels::Basis::not_printed: break;
  }
  return "not printed; high above " + supply(levels.vih) + " and low below " + supply(levels.vil) + " assumed";
}

std::string acceptance(const analyzer::MeasuredAcceptance& seen) {
  std::string made;
  const auto add = [&](const char* words, const std::optional<double>& value) {
    if (value) made += (made.empty() ? "" : ", ") + std::string(words) + " " + quantity(*value, "s", 4);
  };
  add("0 up to", seen.zero_max_s);
  add("1 from", seen.one_min_s);
  add("latches after", seen.latch_gap_s);
  add("shortest bit period", seen.shortest_period_s);
  return made + " (" + one_line(seen.source) + ")";
}

}  // namespace

std::string protocols_text(std::span<const TimingWindows> windows, const TextStyle& style) {
  std::vector<std::vector<Cell>> rows{{{"id", Tone::strong}, {"0 high, ns", Tone::strong}, {"1 high, ns", Tone::strong},
                                       {"latch, us", Tone::strong}, {"bits", Tone::strong}, {"chip", Tone::strong}}};
  for (const auto& w : windows)
    rows.push_back({{one_line(w.id), {}},
                    {nanoseconds(w.t0h), {}},
                    {nanoseconds(w.t1h), {}},
                    {w.latch_gap_min_s ? number(*w.latch_gap_min_s * 1e6, 6) : "-", {}},
                    {std::to_string(w.bits_per_pixel), {}},
                    {one_line(w.chip) + (w.inverted ? ", pulses LOW" : "") + (w.seen ? "" : ", second hand"), {}}});
  return table(rows, style);
}

std::string protocol_text(const TimingWindows& w, const TextStyle& style) {
  const char* active = w.inverted ? "low" : "high";
  const char* pause = w.inverted ? "high" : "low";
  std::vector<std::vector<Cell>> rows{
      {{"chip", {}}, {one_line(w.chip) + ", " + one_line(w.edition), {}}},
      {{fmt::format("0: {} for", active), {}}, {in_words(w.t0h), {}}},
      {{fmt::format("1: {} for", active), {}}, {in_words(w.t1h), {}}},
      {{fmt::format("0: {} for", pause), {}}, {in_words(w.t0l), {}}},
      {{fmt::format("1: {} for", pause), {}}, {in_words(w.t1l), {}}}};
  if (w.period_s)
    rows.push_back({{"bit period", {}}, {quantity(*w.period_s, "s", 6) +
                    (w.period_tolerance_s ? " ± " + quantity(*w.period_tolerance_s, "s", 6) : ""), {}}});
  rows.push_back({{"latch gap", {}}, {w.latch_gap_min_s ? "at least " + quantity(*w.latch_gap_min_s, "s", 6) : "not printed", {}}});
  rows.push_back({{"bits a pixel", {}}, {std::to_string(w.bits_per_pixel), {}}});
  rows.push_back({{"input levels", {}}, {levels_in_words(w.levels), {}}});
  rows.push_back({{"source", {}}, {one_line(w.source) + (w.seen ? "" : " (second hand)"), {}}});
  for (const auto& seen : analyzer::measured_for(w.chip)) rows.push_back({{"measured", {}}, {acceptance(seen), {}}});
  return toned(one_line(w.id), Tone::strong, style) + "\n" + table(rows, style);
}

}  // namespace pulsewright::reports
