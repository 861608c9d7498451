#include "importers/text/encoding.hpp"

#include <algorithm>
#include <utility>

#include "importers/import_error.hpp"

namespace pulsewright::importers::text {

namespace {

void append_utf8(std::string& text, unsigned code) {
  const auto put = [&](unsigned byte) { text += static_cast<char>(byte); };
  if (code < 0x80) return put(code);
  if (code < 0x800) return put(0xc0 | code >> 6), put(0x80 | (code & 63));
  if (code < 0x10000) return put(0xe0 | code >> 12), put(0x80 | (code >> 6 & 63)), put(0x80 | (code & 63));
  put(0xf0 | code >> 18), put(0x80 | (code >> 12 & 63)), put(0x80 | (code >> 6 & 63)), put(0x80 | (code & 63));
}

/// Code units of two bytes, block by block; a pair of surrogates may lie across two blocks.
std::string from_utf16(const Content& content, bool little_endian) {
  std::string text;
  text.reserve(content.size() / 2);
  BlockBuffer buffer;
  unsigned high = 0;
  constexpr std::size_t block_bytes = std::size_t{256} << 10;
  for (std::size_t at = 0; at + 1 < content.size(); at += block_bytes) {
    const auto bytes = content.block(at, block_bytes, buffer).bytes;
    for (std::size_t i = 0; i + 1 < bytes.size(); i += 2) {
      const unsigned a = static_cast<unsigned char>(bytes[i]), b = static_cast<unsigned char>(bytes[i + 1]);
      const unsigned code = little_endian ? a | b << 8 : a << 8 | b;
      const bool paired = high != 0 && code >= 0xdc00 && code < 0xe000;
      if (high != 0) append_utf8(text, paired ? 0x10000 + ((high - 0xd800) << 10) + (code - 0xdc00) : high);
      high = code >= 0xd800 && code < 0xdc00 ? code : 0;
      if (high == 0 && !paired) append_utf8(text, code);
    }
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

std::size_t first_control_byte(std::string_view bytes) {
  const auto is_control = [](char c) { return (c >= 0 && c < 0x20 && c != '\n' && c != '\r' && c != '\t' && c != '\f') || c == 0x7f; };
  const auto found = std::find_if(bytes.begin(), bytes.end(), is_control);
  return found == bytes.end() ? std::string_view::npos : static_cast<std::size_t>(found - bytes.begin());
}

void decode(const std::string& file, const Content& original, std::size_t limit_bytes, Decoded& decoded) {
  const auto check_limit = [&] {
    if (limit_bytes == 0 || original.size() <= limit_bytes) return;
    throw ImportError(ImportError::Kind::unusable_data, file, {}, "text within the memory limit of " + std::to_string(limit_bytes) + " bytes",
                      std::to_string(original.size()) + " bytes that have to be converted in memory");
  };
  decoded.content = original;
  const auto head = original.head();
  const bool marked_little = head.starts_with("\xff\xfe"), marked_big = head.starts_with("\xfe\xff");
  const bool little = marked_little || every_other_is_zero(head.substr(0, 64), 1);
  const bool big = marked_big || every_other_is_zero(head.substr(0, 64), 0);
  if (little || big) {
    check_limit();
    decoded.held = from_utf16(marked_little || marked_big ? original.from(2) : original, little);
    decoded.content = Content(decoded.held);
    decoded.note = "UTF-16";
  } else if (head.starts_with("\xef\xbb\xbf")) {
    decoded.content = original.from(3);
  }
  const auto start = decoded.content.head().substr(0, std::size_t{1} << 16);
  if (start.find('\n') == std::string_view::npos && std::count(start.begin(), start.end(), '\r') > 1) {
    check_limit();
    std::string text;
    const auto all = decoded.content.whole(text);
    if (all.data() != text.data()) text.assign(all);
    std::replace(text.begin(), text.end(), '\r', '\n');
    decoded.held = std::move(text);
    decoded.content = Content(decoded.held);
  }
}

}  // namespace pulsewright::importers::text
