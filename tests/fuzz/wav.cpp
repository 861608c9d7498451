#include "tests/fuzz/checks.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace pulsewright;
  fuzz::read_as(importers::wav_format, fuzz::text_of(data, size));
  return 0;
}
