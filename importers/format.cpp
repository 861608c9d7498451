#include "importers/format.hpp"

#include <array>

namespace pulsewright::importers {

std::span<const Format> formats() {
  // Formats with a signature first; text takes whatever reads as text.
  static const std::array table{wav_format, gzip_format, vcd_format, text_format};
  return table;
}

}  // namespace pulsewright::importers
