#include "reports/png/drawing.hpp"

#include <fmt/format.h>

#include "reports/markup.hpp"
#include "reports/png/picture.hpp"
#include "reports/png/renderer.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports::png {

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

std::string rendered_png(const std::string& svg) { return rendered(svg, picture_width, picture_height); }

}  // namespace pulsewright::reports::png
