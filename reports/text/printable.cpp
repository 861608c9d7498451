#include "reports/text/printable.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

namespace pulsewright::reports {

namespace {

constexpr std::string_view kReplacement = "\xEF\xBF\xBD";
constexpr std::uint32_t kBroken = 0xFFFFFFFF;

struct Range {
  std::uint32_t first, last;
};

/// Next code point from `at`, which moves behind it; kBroken (one byte further) where the bytes are no UTF-8.
std::uint32_t next_code_point(std::string_view text, std::size_t& at) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
  const std::uint32_t lead = byte(at++);
  if (lead < 0x80) return lead;
  const int more = lead >= 0xF0 && lead < 0xF5 ? 3 : lead >= 0xE0 && lead < 0xF0 ? 2 : lead >= 0xC2 && lead < 0xE0 ? 1 : 0;
  if (more == 0 || at + static_cast<std::size_t>(more) > text.size()) return kBroken;
  std::uint32_t code = lead & (0x3Fu >> more);
  for (int i = 0; i < more; ++i) {
    const std::uint32_t next = byte(at + static_cast<std::size_t>(i));
    if ((next & 0xC0u) != 0x80u) return kBroken;
    code = code << 6 | (next & 0x3Fu);
  }
  constexpr std::array<std::uint32_t, 4> smallest{0, 0x80, 0x800, 0x10000};
  if (code < smallest[static_cast<std::size_t>(more)] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return kBroken;
  at += static_cast<std::size_t>(more);
  return code;
}

template <std::size_t N>
bool within(std::uint32_t code, const std::array<Range, N>& ranges) {
  return std::any_of(ranges.begin(), ranges.end(), [&](Range r) { return code >= r.first && code <= r.last; });
}

/// Unicode 15: controls, bidirectional controls, zero-width and other invisible format characters, tags.
bool unsafe(std::uint32_t code) {
  constexpr std::array<Range, 12> ranges{{{0x00, 0x1F},
                                          {0x7F, 0x9F},
                                          {0xAD, 0xAD},
                                          {0x061C, 0x061C},
                                          {0x180E, 0x180E},
                                          {0x200B, 0x200F},
                                          {0x2028, 0x202E},
                                          {0x2060, 0x206F},
                                          {0xFEFF, 0xFEFF},
                                          {0xFFF9, 0xFFFB},
                                          {0xE0000, 0xE0FFF},
                                          {0xF0000, 0x10FFFF}}};
  return code == kBroken || within(code, ranges);
}

std::size_t width_of(std::uint32_t code) {
  constexpr std::array<Range, 5> none{{{0x0300, 0x036F}, {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF}, {0x20D0, 0x20FF}, {0xFE00, 0xFE2F}}};
  constexpr std::array<Range, 7> wide{{{0x1100, 0x115F},
                                       {0x2E80, 0xA4CF},
                                       {0xAC00, 0xD7A3},
                                       {0xF900, 0xFAFF},
                                       {0xFF00, 0xFF60},
                                       {0x1F300, 0x1FAFF},
                                       {0x20000, 0x3FFFD}}};
  return within(code, none) ? 0 : within(code, wide) ? 2 : 1;
}

}  // namespace

std::string one_line(std::string_view text) {
  std::string made;
  made.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t start = at;
    const std::uint32_t code = next_code_point(text, at);
    if (code == '\n' || code == '\r' || code == '\t') {
      if (!made.ends_with(' ')) made += ' ';
    } else if (unsafe(code)) {
      made += kReplacement;
    } else {
      made += text.substr(start, at - start);
    }
  }
  while (made.ends_with(' ')) made.pop_back();
  return made;
}

std::string one_line(std::string_view text, std::size_t longest) {
  std::string whole = one_line(text);
  if (columns(whole) <= longest || longest == 0) return whole;
  std::size_t at = 0, end = 0, used = 0;
  while (at < whole.size()) {
    used += width_of(next_code_point(whole, at));
    if (used > longest - 1) break;
    end = at;
  }
  return whole.substr(0, end) + "…";
}

std::size_t columns(std::string_view text) {
  std::size_t total = 0;
  for (std::size_t at = 0; at < text.size();) total += width_of(next_code_point(text, at));
  return total;
}

std::string_view file_alone(std::string_view path) {
  const std::size_t slash = path.find_last_of('/');
  return slash == std::string_view::npos ? path : path.substr(slash + 1);
}

std::string shell_word(std::string_view text) {
  const std::string safe = one_line(text);
  constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./:,+=@%";
  if (!safe.empty() && safe.find_first_not_of(plain) == std::string::npos) return safe;
  std::string made = "'";
  for (const char c : safe) made += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return made + "'";
}

}  // namespace pulsewright::reports
