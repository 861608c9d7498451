#include "reports/png/picture.hpp"

#include <fmt/format.h>

#include <vector>

#include "reports/figures/figures.hpp"
#include "reports/png/drawing.hpp"
#include "reports/quantity.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using namespace png;
using analyzer::Outcome;

std::string_view ink_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return "#0b6b4f";
    case Outcome::marginal: return "#8a5a00";
    case Outcome::fail: return "#a3262c";
    case Outcome::cannot_tell: break;
  }
  return "#3d4f66";
}

std::string suggestion_line(const analyzer::Suggestion& suggestion) {
  if (suggestion.action != analyzer::Action::change_series_resistor || !suggestion.series_ohm) return suggestion.text;
  std::string made = "Fit " + part_in_words(suggestion);
  if (suggestion.acceptable_low_ohm && suggestion.acceptable_high_ohm)
    made += "; acceptable " + resistance(*suggestion.acceptable_low_ohm) + " to " +
            resistance(*suggestion.acceptable_high_ohm);
  return made + "; confidence " + percent(suggestion.confidence);
}

std::string subject_line(const analyzer::Diagnosis& d) {
  const auto& s = d.settings;
  std::string made = one_line(file_alone(d.capture.file), 40) + ", " + one_line(s.windows.chip, 30) + ", supply " +
                     quantity(s.supply_v, "V");
  if (s.series_ohm) made += ", " + resistance(*s.series_ohm) + " fitted";
  if (s.length_m) made += ", " + quantity(*s.length_m, "m") + " cable";
  return made;
}

}  // namespace

std::string picture_svg(const analyzer::Diagnosis& d) {
  std::string made = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\">"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#ffffff\"/><rect width=\"{0}\" height=\"84\" fill=\"{2}\"/>",
      picture_width, picture_height, ink_of(d.verdict.result));
  made += words(kMargin, 56, 40, "#ffffff", "bold", shouted(d.verdict.result));
  const bool titled = !d.settings.title.empty();
  if (titled) made += words(kMargin + 340, 36, 20, "#ffffff", "bold", one_line(d.settings.title, 62));
  made += words(kMargin + 340, titled ? 66 : 52, 18, "#ffffff", "normal", one_line(subject_line(d), 76));
  int y = 128;
  for (const auto& line : lines_of(one_line(d.verdict.headline), 74, 2)) {
    made += words(kMargin, y, 24, "#1b2430", "bold", line);
    y += 34;
  }
  for (const auto& line : lines_of(one_line(suggestion_line(d.suggestion)), 92, 2)) {
    made += words(kMargin, y, 21, "#1b2430", "normal", line);
    y += 30;
  }
  const figures::Size size{.width = 392, .height = 420};
  const int top = 276, right = picture_width / 2 + 12;
  made += words(kMargin, top - 12, 20, "#3d4f66", "bold", "Bits laid over each other");
  made += placed(figures::folded_bits(d, size), kMargin, top);
  const bool predicted = d.suggestion.predicted.has_value();
  made += words(right, top - 12, 20, "#3d4f66", "bold", predicted ? "Rising edge, now and predicted" : "Rising edge");
  made += placed(predicted ? figures::prediction(d, size) : figures::edge(d, figures::Edge::rising, size), right, top);
  made += words(kMargin, picture_height - 16, 15, "#3d4f66", "normal",
                "pulsewright - looks at the data signal; does not certify wiring");
  return made + "</svg>";
}

std::string picture_png(const analyzer::Diagnosis& diagnosis) {
  return rendered_png(picture_svg(diagnosis));
}

}  // namespace pulsewright::reports
