#pragma once
// Lines, columns and colours of a text report.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace pulsewright::reports {

struct TextStyle {
  std::size_t width = 80;  ///< columns of the terminal; lines end before them where words allow it
  bool colour = false;     ///< select graphic rendition of ECMA-48: bold and four colours, never the only sign
};

enum class Tone { plain, strong, good, warning, bad, unknown };

/// `text` between the codes of the tone; untouched without colour.
std::string toned(std::string_view text, Tone tone, const TextStyle& style);

/// Words of `text` in lines of the style's width, the first after `first`, the others after `hanging` spaces. Ends with a
/// line feed. `first` may hold codes of `toned`; they take no columns.
std::string paragraph(std::string_view first, std::string_view text, std::size_t hanging, const TextStyle& style);

/// Rows as aligned columns two spaces apart, indented by two; the last column is wrapped within the width, or below the
/// others where less than 24 columns would be left for it.
struct Cell {
  std::string text;
  Tone tone = Tone::plain;
};
std::string table(const std::vector<std::vector<Cell>>& rows, const TextStyle& style);

}  // namespace pulsewright::reports
