#include "importers/import.hpp"

#include <new>

#include "importers/content.hpp"
#include "importers/excerpt.hpp"
#include "importers/format.hpp"
#include "importers/import_error.hpp"
#include "importers/sha256.hpp"
#include "importers/text/encoding.hpp"

namespace pulsewright::importers {

namespace {

/// No format has these bytes: told where a text stops being one, else how the file begins.
[[noreturn]] void refuse_binary(const std::string& file, std::string_view head) {
  constexpr std::size_t text_at_least = 16;
  const std::size_t odd = text::first_control_byte(head);
  const bool is_text_at_first = odd != std::string_view::npos && odd >= text_at_least;
  throw ImportError(ImportError::Kind::unusable_data, file, {.line = {}, .column = {}, .byte = is_text_at_first ? odd : 0},
                    is_text_at_first ? "text" : "delimited text, WAV, VCD or any of these gzip-compressed",
                    is_text_at_first ? "the byte " + first_bytes(head.substr(odd), 1) : "binary data beginning with the bytes " + first_bytes(head));
}

Capture read_content(std::string_view name, const Content& content, const ImportOptions& options) {
  const std::string file(name);
  const auto refuse = [&](const std::string& expected, const std::string& found) {
    throw ImportError(ImportError::Kind::unusable_data, file, {}, expected, found);
  };
  if (content.size() == 0) refuse("a capture", "an empty file");
  for (const Format& format : formats()) {
    if (!format.recognises(content.head())) continue;
    try {
      Capture capture = format.read(name, content, options);
      capture.file_name = file;
      if (capture.format.empty()) capture.format = format.name;
      if (options.want_sha256) capture.sha256 = sha256(content);
      return capture;
    } catch (const std::bad_alloc&) {
      refuse("a capture that fits into memory or the memory limit", "one that does not");
    }
  }
  refuse_binary(file, content.head());
}

}  // namespace

Capture import_file(const std::string& path, const ImportOptions& options) {
  const InputBytes input(path, options.memory_limit_bytes);
  Capture capture = read_content(path == "-" ? "standard input" : path, input.content(), options);
  input.check_unchanged();
  return capture;
}

Capture import_bytes(std::string_view name, std::span<const std::byte> bytes, const ImportOptions& options) {
  return read_content(name, Content({reinterpret_cast<const char*>(bytes.data()), bytes.size()}), options);
}

}  // namespace pulsewright::importers
