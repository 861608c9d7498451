#include "reports/text/layout.hpp"

#include <algorithm>

#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

std::string_view code_of(Tone tone) {
  switch (tone) {
    case Tone::plain: return "";
    case Tone::strong: return "\x1b[1m";
    case Tone::good: return "\x1b[1;32m";
    case Tone::warning: return "\x1b[1;33m";
    case Tone::bad: return "\x1b[1;31m";
    case Tone::unknown: return "\x1b[1;36m";
  }
  return "";
}

/// Columns of a text that may hold the codes of `toned`.
std::size_t columns_shown(std::string_view text) {
  std::size_t total = 0;
  while (!text.empty()) {
    const std::size_t escape = std::min(text.find('\x1b'), text.size());
    total += columns(text.substr(0, escape));
    text.remove_prefix(escape);
    if (!text.empty()) text.remove_prefix(std::min(text.find('m'), text.size() - 1) + 1);
  }
  return total;
}

std::string padded(const Cell& cell, std::size_t width, const TextStyle& style) {
  const std::size_t used = columns(cell.text);
  return toned(cell.text, cell.tone, style) + std::string(width > used ? width - used : 0, ' ');
}

}  // namespace

std::string toned(std::string_view text, Tone tone, const TextStyle& style) {
  if (!style.colour || tone == Tone::plain || text.empty()) return std::string(text);
  return std::string(code_of(tone)) + std::string(text) + "\x1b[0m";
}

std::string paragraph(std::string_view first, std::string_view text, std::size_t hanging, const TextStyle& style) {
  std::string made(first);
  std::size_t used = columns_shown(first);
  bool begin = true;  // of a line: no space before the word
  while (!text.empty()) {
    text.remove_prefix(std::min(text.find_first_not_of(' '), text.size()));
    const std::string_view word = text.substr(0, text.find(' '));
    text.remove_prefix(word.size());
    if (word.empty()) break;
    const std::size_t wide = columns(word);
    if (!begin && used + 1 + wide > style.width) {
      made += '\n' + std::string(hanging, ' ');
      used = hanging;
      begin = true;
    }
    if (!begin) made += ' ', ++used;
    made += word;
    used += wide;
    begin = false;
  }
  return made + '\n';
}

std::string table(const std::vector<std::vector<Cell>>& rows, const TextStyle& style) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()), 0);
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], columns(row[i].text));
  }
  std::size_t last_at = 2;
  for (std::size_t i = 0; i + 1 < widths.size(); ++i) last_at += widths[i] + 2;
  const bool below = last_at + 24 > style.width && last_at + (widths.empty() ? 0 : widths.back()) > style.width;
  std::string made;
  for (const auto& row : rows) {
    std::string line = "  ";
    for (std::size_t i = 0; i + 1 < row.size(); ++i) line += padded(row[i], widths[i], style) + "  ";
    if (row.empty()) continue;
    if (below && row.size() > 1) {
      made += line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
      if (!row.back().text.empty()) made += paragraph("      ", row.back().text, 6, style);
      continue;
    }
    const std::string wrapped = paragraph(line, row.back().text, last_at, style);
    made += wrapped.substr(0, wrapped.find_last_not_of(" \n") + 1) + '\n';
  }
  return made;
}

}  // namespace pulsewright::reports
