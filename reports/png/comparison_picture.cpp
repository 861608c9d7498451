#include "reports/png/comparison_picture.hpp"

#include <fmt/format.h>

#include "reports/figures/overlay.hpp"
#include "reports/png/drawing.hpp"
#include "reports/png/picture.hpp"
#include "reports/quantity.hpp"
#include "reports/text/comparison_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using namespace png;
using analyzer::Change;
using analyzer::Comparison;

constexpr std::string_view kInk = "#1b2430", kQuiet = "#3d4f66";

std::string_view ink_of(Change change) {
  switch (change) {
    case Change::better: return "#0b6b4f";
    case Change::worse: return "#a3262c";
    case Change::no_clear_change:
    case Change::not_comparable: break;
  }
  return kQuiet;
}

std::string_view ink_of(const analyzer::Difference& d) {
  return ink_of(d.better ? (*d.better ? Change::better : Change::worse) : Change::no_clear_change);
}

/// Name, before, after, and what that is for the receiver.
std::string figure_rows(const Comparison& c, int top) {
  std::string made;
  int y = top;
  for (const auto& key : key_figures(c)) {
    const auto unit = shown_unit_of(*key.difference);
    made += words(kMargin, y, 19, kInk, "normal", key.name);
    made += words(kMargin + 300, y, 19, kQuiet, "normal", one_line(quantity(key.difference->before, unit), 24));
    made += words(kMargin + 580, y, 19, kInk, "bold", one_line(quantity(key.difference->after, unit), 24));
    made += words(kMargin + 860, y, 19, ink_of(*key.difference), "bold", said(*key.difference));
    y += 31;
  }
  return made;
}

}  // namespace

std::string comparison_picture_svg(const Comparison& c) {
  const bool series = c.captures.size() > 2;
  std::string made = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\">"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#ffffff\"/><rect width=\"{0}\" height=\"84\" fill=\"{2}\"/>",
      picture_width, picture_height, ink_of(c.result));
  std::string word = series ? "SERIES OF " + std::to_string(c.captures.size()) : said(c.result);
  for (auto& letter : word)
    if (letter >= 'a' && letter <= 'z') letter = static_cast<char>(letter - 'a' + 'A');
  made += words(kMargin, 56, 36, "#ffffff", "bold", word);
  const std::string pair = one_line(c.labels.front(), 28) + "  \xE2\x86\x92  " + one_line(c.labels.back(), 28);
  if (!series) made += words(kMargin + 420, 54, 20, "#ffffff", "normal", pair);
  int y = 124;
  for (const auto& line : lines_of(one_line(series ? c.series : headline_alone(c)), 80, 2)) {
    made += words(kMargin, y, 23, kInk, "bold", line);
    y += 32;
  }
  if (series) {
    constexpr int top = 190, room = 485, least = 180;
    made += placed(figures::ranking(c, {800, room}), kMargin, top);
    const int used = figures::ranking_height(c) + 10;
    if (room - used >= least)
      made += placed(figures::edges_overlaid(c, figures::Edge::rising, {800, room - used}), kMargin, top + static_cast<int>(kFigureScale * used));
  } else {
    made += figure_rows(c, 208);
    made += placed(figures::edges_overlaid(c, figures::Edge::rising, {800, 330}), kMargin, 400);
  }
  return made + words(kMargin, picture_height - 16, 15, kQuiet, "normal", "pulsewright - looks at the data signal; does not certify wiring") + "</svg>";
}

std::string comparison_png(const Comparison& comparison) { return rendered_png(comparison_picture_svg(comparison)); }

}  // namespace pulsewright::reports
