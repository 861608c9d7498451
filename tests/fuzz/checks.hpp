#pragma once
// What holds for every input of a fuzz target, however broken. A violated promise ends the process, which is what both
// the fuzzing engine and the replay look for.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

#include "importers/capture.hpp"
#include "importers/format.hpp"

namespace pulsewright::fuzz {

/// Ends the process with `promise` on standard error unless `kept`.
void require(bool kept, std::string_view promise);

/// One line of at most 1000 bytes that a terminal can show: ASCII or valid UTF-8, no control characters, not empty.
void require_one_line(std::string_view message);

/// What importers/capture.hpp promises of a capture.
void require_sound(const importers::Capture& capture);

/// Both hold the same samples on the same time base.
void require_same(const importers::Capture& a, const importers::Capture& b);

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

/// Reads `bytes` when `format` recognises them, with a low memory limit, and holds the capture to its promises.
void read_as(const importers::Format& format, std::string_view bytes);

}  // namespace pulsewright::fuzz
