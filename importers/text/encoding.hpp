#pragma once
// Byte order marks, UTF-16 and unusual line ends -> UTF-8 lines ending in '\n'.

#include <string>

#include "importers/content.hpp"

namespace pulsewright::importers::text {

/// Holds the converted text where conversion was needed; otherwise `content` shows the original bytes.
struct Decoded {
  std::string held;
  Content content;
  bool converted = false;
  std::string note;  ///< "" or e.g. "UTF-16"
};

void decode(const Content& original, Decoded& decoded);

}  // namespace pulsewright::importers::text
