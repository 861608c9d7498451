#pragma once
// Byte order marks, UTF-16 and unusual line ends -> UTF-8 lines ending in '\n'.

#include <string>

#include "importers/content.hpp"

namespace pulsewright::importers::text {

/// Where the first byte stands that no text has: a control character other than blanks and line ends. npos: nowhere.
std::size_t first_control_byte(std::string_view bytes);

/// Holds the converted text where conversion was needed; otherwise `content` shows the original bytes.
struct Decoded {
  std::string held;
  Content content{std::string_view()};
  std::string note;  ///< "" or e.g. "UTF-16"
};

/// Throws ImportError when converted text would be larger than `limit_bytes` (0: no limit).
void decode(const std::string& file, const Content& original, std::size_t limit_bytes, Decoded& decoded);

}  // namespace pulsewright::importers::text
