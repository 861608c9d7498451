#include "reports/png/picture.hpp"

#include <cairo.h>
#include <fmt/format.h>
#include <librsvg/rsvg.h>

#include <memory>
#include <stdexcept>
#include <vector>

#include "reports/figures/figures.hpp"
#include "reports/markup.hpp"
#include "reports/quantity.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::Outcome;

constexpr double kFigureScale = 1.4;  // figures are drawn for a page; a picture is looked at from further away
constexpr int kMargin = 40;

std::string_view ink_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return "#0b6b4f";
    case Outcome::marginal: return "#8a5a00";
    case Outcome::fail: return "#a3262c";
    case Outcome::cannot_tell: break;
  }
  return "#3d4f66";
}

std::string words(int x, int y, int size, std::string_view ink, std::string_view weight, std::string_view text) {
  return fmt::format("<text x=\"{}\" y=\"{}\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"{}\" fill=\"{}\" "
                     "font-weight=\"{}\">{}</text>",
                     x, y, size, ink, weight, escape(text));
}

/// `text` in at most `most` lines of at most `wide` columns; the last one is cut.
std::vector<std::string> lines_of(const std::string& text, std::size_t wide, std::size_t most) {
  std::vector<std::string> lines;
  std::string rest = text;
  while (!rest.empty() && lines.size() + 1 < most && columns(rest) > wide) {
    const std::size_t end = rest.rfind(' ', wide);
    if (end == std::string::npos || end == 0) break;
    lines.push_back(rest.substr(0, end));
    rest.erase(0, end + 1);
  }
  if (!rest.empty()) lines.push_back(one_line(rest, wide));
  return lines;
}

/// A figure moved and enlarged; its reason in words where there is none.
std::string placed(const figures::Figure& figure, int x, int y) {
  if (figure.svg.empty()) return words(x, y + 40, 20, "#3d4f66", "normal", one_line(figure.missing, 48));
  return fmt::format("<g transform=\"translate({} {}) scale({})\">{}</g>", x, y, kFigureScale, figure.svg);
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

class Surface {
 public:
  Surface()
      : surface_(cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture_width, picture_height)),
        context_(cairo_create(surface_)) {
    cairo_set_source_rgb(context_, 1, 1, 1);
    cairo_paint(context_);
  }
  ~Surface() {
    cairo_destroy(context_);
    cairo_surface_destroy(surface_);
  }
  Surface(const Surface&) = delete;
  Surface& operator=(const Surface&) = delete;
  cairo_t* context() { return context_; }

  std::string png() {
    std::string bytes;
    const auto append = [](void* to, const unsigned char* data, unsigned size) {
      static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), size);
      return CAIRO_STATUS_SUCCESS;
    };
    if (cairo_surface_write_to_png_stream(surface_, append, &bytes) != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error("the picture cannot be encoded");
    return bytes;
  }

 private:
  cairo_surface_t* surface_;
  cairo_t* context_;
};

void render(const std::string& svg, cairo_t* context) {
  GError* error = nullptr;
  const auto fail = [&] {
    const std::string why = error != nullptr ? error->message : "no reason given";
    g_clear_error(&error);
    throw std::runtime_error("the picture cannot be drawn: " + why);
  };
  const auto release = [](RsvgHandle* handle) { g_object_unref(handle); };
  const std::unique_ptr<RsvgHandle, decltype(release)> handle(
      rsvg_handle_new_from_data(reinterpret_cast<const guint8*>(svg.data()), svg.size(), &error), release);
  if (!handle) fail();
  const RsvgRectangle all{0, 0, picture_width, picture_height};
  if (rsvg_handle_render_document(handle.get(), context, &all, &error) == FALSE) fail();
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
  Surface surface;
  render(picture_svg(diagnosis), surface.context());
  return surface.png();
}

}  // namespace pulsewright::reports
