// A checksum ends each gzip member, so changed bytes seldom get past it. Half of the inputs are compressed here, as one
// member or several, cut or not; what comes out must be what the plain bytes give.

#include <zlib.h>

#include <algorithm>
#include <optional>
#include <string>

#include "importers/import.hpp"
#include "importers/import_error.hpp"
#include "tests/fuzz/checks.hpp"

namespace {

using namespace pulsewright;

std::string compressed(std::string_view bytes, int level) {
  z_stream stream{};
  fuzz::require(deflateInit2(&stream, level, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY) == Z_OK, "zlib works");
  std::string made(deflateBound(&stream, bytes.size()) + 64, '\0');
  stream.next_in = const_cast<Bytef*>(reinterpret_cast<const Bytef*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(made.data());
  stream.avail_out = static_cast<uInt>(made.size());
  fuzz::require(deflate(&stream, Z_FINISH) == Z_STREAM_END, "zlib compresses");
  made.resize(made.size() - stream.avail_out);
  deflateEnd(&stream);
  return made;
}

std::optional<importers::Capture> read(std::string_view bytes) {
  importers::ImportOptions options;
  options.threads = 1;
  options.want_sha256 = false;
  options.memory_limit_bytes = std::size_t{16} << 20;
  try {
    auto capture = importers::import_bytes("capture", std::as_bytes(std::span(bytes)), options);
    fuzz::require_sound(capture);
    return capture;
  } catch (const importers::ImportError& error) {
    fuzz::require_one_line(error.what());
    return {};
  }
}

bool is_compressed(std::string_view bytes) { return importers::gzip_format.recognises(bytes); }

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 4) return 0;
  const std::string_view input = fuzz::text_of(data, size);
  if (is_compressed(input)) {
    read(input);
    return 0;
  }
  const std::string_view plain = input.substr(3);
  const std::size_t split = data[0] * plain.size() / 255;
  const int level = data[1] % 10;
  std::string packed = compressed(plain.substr(0, split), level) + compressed(plain.substr(split), level);
  const bool whole = data[2] < 128;
  if (!whole) packed.resize(packed.size() * (data[2] - 128u) / 128);
  const auto unpacked = read(packed);
  if (!whole || is_compressed(plain)) return 0;
  const auto expected = read(plain);
  fuzz::require(expected.has_value() == unpacked.has_value(), "packed and plain bytes are both read, or both refused");
  if (expected) fuzz::require_same(*expected, *unpacked);
  return 0;
}
