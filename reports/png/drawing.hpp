#pragma once
// What the pictures are drawn with.

#include <string>
#include <string_view>
#include <vector>

#include "reports/figures/figures.hpp"

namespace pulsewright::reports::png {

inline constexpr int kMargin = 40;

/// One line of text as SVG, escaped.
std::string words(int x, int y, int size, std::string_view ink, std::string_view weight, std::string_view text);

/// `text` in at most `most` lines of at most `wide` columns; the last one is cut.
std::vector<std::string> lines_of(const std::string& text, std::size_t wide, std::size_t most);

/// Figures are drawn for a page; a picture is looked at from further away.
inline constexpr double kFigureScale = 1.4;

/// A figure moved and enlarged; its reason in words where there is none.
std::string placed(const figures::Figure& figure, int x, int y);

/// A document of picture_width x picture_height as bytes of a PNG file. Throws std::runtime_error when the renderer fails.
std::string rendered_png(const std::string& svg);

}  // namespace pulsewright::reports::png
