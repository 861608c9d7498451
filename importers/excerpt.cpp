#include "importers/excerpt.hpp"

#include <algorithm>

namespace pulsewright::importers {

std::string printable(std::string_view text, std::size_t longest) {
  std::string shown;
  for (const char c : text.substr(0, longest)) shown += (c >= 0x20 && c < 0x7f) ? c : '?';
  if (text.size() > longest) shown += "...";
  return shown;
}

std::string quoted(std::string_view text, std::size_t longest) { return '"' + printable(text, longest) + '"'; }

std::string first_bytes(std::string_view bytes, std::size_t count) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string shown;
  for (const char c : bytes.substr(0, count)) {
    const auto byte = static_cast<unsigned char>(c);
    if (!shown.empty()) shown += ' ';
    shown += digits[byte >> 4];
    shown += digits[byte & 15];
  }
  return shown;
}

}  // namespace pulsewright::importers
