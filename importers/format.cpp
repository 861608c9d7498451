#include "importers/format.hpp"

#include <array>

namespace pulsewright::importers {

std::span<const Format> formats() {
  // Formats with a signature first; text takes whatever reads as text.
  static const std::array table{wav_format, gzip_format, vcd_format, text_format};
  return table;
}

ImportOptions with_memory_left(ImportOptions options, std::size_t held_bytes) {
  auto& limit = options.memory_limit_bytes;
  if (limit != 0) limit = limit > held_bytes ? limit - held_bytes : 1;  // 0 would be no limit
  return options;
}

}  // namespace pulsewright::importers
