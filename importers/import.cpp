#include "importers/import.hpp"

#include <new>

#include "importers/content.hpp"
#include "importers/excerpt.hpp"
#include "importers/format.hpp"
#include "importers/import_error.hpp"
#include "importers/sha256.hpp"

namespace pulsewright::importers {

namespace {

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
  refuse("delimited text, WAV, VCD or any of these gzip-compressed",
         "binary data beginning with the bytes " + first_bytes(content.head()));
  return {};
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
