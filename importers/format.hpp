#pragma once
// The file formats, in the order in which they are tried.

#include <span>
#include <string_view>

#include "importers/content.hpp"
#include "importers/import.hpp"

namespace pulsewright::importers {

struct Format {
  std::string_view name;                        ///< as it stands in Capture::format
  bool (*recognises)(std::string_view head);    ///< of the first bytes of the content
  /// Throws ImportError. Fills everything of the capture except `file_name`, `sha256` and, when it leaves it
  /// empty, `format`. `name` is for messages only.
  Capture (*read)(std::string_view name, const Content& content, const ImportOptions& options);
};

/// Options for what is unpacked or converted first: `held_bytes` of the memory limit are taken.
ImportOptions with_memory_left(ImportOptions options, std::size_t held_bytes);

/// All formats; the first that recognises the bytes reads them.
std::span<const Format> formats();

// Each stands in the file of its name.
extern const Format gzip_format;
extern const Format text_format;
extern const Format vcd_format;
extern const Format wav_format;

}  // namespace pulsewright::importers
