#pragma once
// Text in, capture out: shared by the suites on delimited text.

#include <span>
#include <string>
#include <string_view>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::tests {

inline importers::Capture read_text(std::string_view text, importers::ImportOptions options = {}) {
  options.want_sha256 = false;
  return importers::import_bytes("t.csv", std::as_bytes(std::span(text.data(), text.size())), options);
}

/// The message with which the text is refused; "" when it is read.
inline std::string refusal(std::string_view text, const importers::ImportOptions& options = {}) {
  try {
    read_text(text, options);
  } catch (const importers::ImportError& error) {
    return error.what();
  }
  return "";
}

inline bool has_note(const importers::Capture& capture, std::string_view words) {
  for (const auto& note : capture.notes)
    if (note.find(words) != std::string::npos) return true;
  return false;
}

inline std::string utf16(std::string_view ascii, bool big_endian, bool mark) {
  std::string bytes;
  const auto put = [&](char high, char low) { bytes += big_endian ? high : low, bytes += big_endian ? low : high; };
  if (mark) put('\xfe', '\xff');
  for (const char c : ascii) put('\0', c);
  return bytes;
}

}  // namespace pulsewright::tests
