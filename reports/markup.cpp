#include "reports/markup.hpp"

#include <cstddef>
#include <cstdint>

namespace pulsewright::reports {

namespace {

constexpr std::string_view kReplacement = "\xEF\xBF\xBD";

struct Decoded {
  std::uint32_t code = 0;
  std::size_t bytes = 0;  ///< 0: not UTF-8
};

/// One code point, after the table of well-formed byte sequences of the Unicode Standard (table 3-7): no overlong forms, no
/// surrogates.
Decoded decode(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
  const std::uint32_t lead = byte(0);
  if (lead < 0x80) return {lead, 1};
  const std::size_t bytes = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < bytes) return {};
  std::uint32_t code = lead & (0x7Fu >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xC0u) != 0x80u) return {};
    code = code << 6 | (byte(i) & 0x3Fu);
  }
  constexpr std::uint32_t smallest[] = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < smallest[bytes] || surrogate || code > 0x10FFFF) return {};
  return {code, bytes};
}

bool shown(std::uint32_t code) {
  if (code == '\n' || code == '\t') return true;
  if (code < 0x20 || (code >= 0x7F && code < 0xA0)) return false;
  const bool direction = code == 0x061C || code == 0x200E || code == 0x200F || (code >= 0x202A && code <= 0x202E) ||
                         (code >= 0x2066 && code <= 0x2069);
  const bool not_a_character = (code & 0xFFFE) == 0xFFFE || (code >= 0xFDD0 && code <= 0xFDEF);
  return !direction && !not_a_character && code != 0xFEFF;
}

}  // namespace

std::string escape(std::string_view text) {
  std::string safe;
  safe.reserve(text.size() + text.size() / 8);
  while (!text.empty()) {
    const auto [code, bytes] = decode(text);
    if (bytes == 0 || !shown(code)) {
      safe += kReplacement;
    } else if (code == '&') {
      safe += "&amp;";
    } else if (code == '<') {
      safe += "&lt;";
    } else if (code == '>') {
      safe += "&gt;";
    } else if (code == '"') {
      safe += "&quot;";
    } else if (code == '\'') {
      safe += "&#39;";
    } else {
      safe += text.substr(0, bytes);
    }
    text.remove_prefix(bytes == 0 ? 1 : bytes);
  }
  return safe;
}

std::string json_in_script(std::string_view json) {
  std::string safe;
  safe.reserve(json.size() + json.size() / 16);
  for (std::size_t i = 0; i < json.size(); ++i) {
    const bool separator = json.substr(i).starts_with("\xE2\x80\xA8") || json.substr(i).starts_with("\xE2\x80\xA9");
    if (separator) {
      safe += json[i + 2] == '\xA8' ? "\\u2028" : "\\u2029";
      i += 2;
    } else if (json[i] == '<') {
      safe += "\\u003c";
    } else if (json[i] == '>') {
      safe += "\\u003e";
    } else if (json[i] == '&') {
      safe += "\\u0026";
    } else {
      safe += json[i];
    }
  }
  return safe;
}

}  // namespace pulsewright::reports
