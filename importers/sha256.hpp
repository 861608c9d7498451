#pragma once

#include <string>

#include "importers/content.hpp"

namespace pulsewright::importers {

/// SHA-256 (FIPS 180-4) in lower-case hexadecimal. Mapped pages are given back as they are read.
std::string sha256(const Content& content);

}  // namespace pulsewright::importers
