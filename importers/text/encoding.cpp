#include "importers/text/encoding.hpp"

#include <algorithm>

namespace pulsewright::importers::text {

namespace {

void append_utf8(std::string& text, unsigned code) {
  const auto put = [&](unsigned byte) { text += static_cast<char>(byte); };
  if (code < 0x80) return put(code);
  if (code < 0x800) return put(0xc0 | code >> 6), put(0x80 | (code & 63));
  if (code < 0x10000) return put(0xe0 | code >> 12), put(0x80 | (code >> 6 & 63)), put(0x80 | (code & 63));
  put(0xf0 | code >> 18), put(0x80 | (code >> 12 & 63)), put(0x80 | (code >> 6 & 63)), put(0x80 | (code & 63));
}

std::string from_utf16(std::string_view bytes, bool little_endian) {
  std::string text;
  text.reserve(bytes.size() / 2);
  const auto unit = [&](std::size_t at) {
    const unsigned a = static_cast<unsigned char>(bytes[at]), b = static_cast<unsigned char>(bytes[at + 1]);
    return little_endian ? a | b << 8 : a << 8 | b;
  };
  for (std::size_t at = 0; at + 1 < bytes.size(); at += 2) {
    unsigned code = unit(at);
    if (code >= 0xd800 && code < 0xdc00 && at + 3 < bytes.size()) {
      const unsigned low = unit(at + 2);
      if (low >= 0xdc00 && low < 0xe000) code = 0x10000 + ((code - 0xd800) << 10) + (low - 0xdc00), at += 2;
    }
    append_utf8(text, code);
  }
  return text;
}

/// Without a mark, UTF-16 shows as every other byte zero.
bool every_other_is_zero(std::string_view head, std::size_t phase) {
  if (head.size() < 8) return false;
  for (std::size_t at = phase; at < head.size(); at += 2)
    if (head[at] != '\0') return false;
  return true;
}

}  // namespace

void decode(const Content& original, Decoded& decoded) {
  decoded.content = original;
  auto bytes = original.bytes;
  const auto head = bytes.substr(0, 64);
  const bool little = bytes.starts_with("\xff\xfe") || every_other_is_zero(head, 1);
  const bool big = bytes.starts_with("\xfe\xff") || every_other_is_zero(head, 0);
  if (little || big) {
    if (bytes.starts_with("\xff\xfe") || bytes.starts_with("\xfe\xff")) bytes.remove_prefix(2);
    decoded.held = from_utf16(bytes, little);
    decoded.content = {decoded.held, false};
    decoded.note = "UTF-16";
  } else if (bytes.starts_with("\xef\xbb\xbf")) {
    decoded.content.bytes.remove_prefix(3);
    decoded.content.mapped = false;
  }
  const auto start = decoded.content.bytes.substr(0, std::size_t{1} << 16);
  if (start.find('\n') == std::string_view::npos && std::count(start.begin(), start.end(), '\r') > 1) {
    if (decoded.held.empty()) decoded.held = std::string(decoded.content.bytes);
    std::replace(decoded.held.begin(), decoded.held.end(), '\r', '\n');
    decoded.content = {decoded.held, false};
  }
}

}  // namespace pulsewright::importers::text
