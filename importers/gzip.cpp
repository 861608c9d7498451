// gzip-compressed captures (RFC 1952): decompressed within a limit, then read as what they hold.

#include <zlib.h>

#include <algorithm>
#include <string>

#include "importers/excerpt.hpp"
#include "importers/format.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::importers {

namespace {

/// Whatever the caller allows: far above any capture, far below what a hostile file can ask for.
constexpr std::size_t largest_content = std::size_t{4} << 30;
constexpr std::size_t block_bytes = std::size_t{1} << 18;
constexpr std::string_view gzip_magic = "\x1f\x8b";
constexpr std::string_view zip_magic = "PK\x03\x04";

[[noreturn]] void refuse(std::string_view name, std::size_t byte, const std::string& expected, const std::string& found) {
  throw ImportError(ImportError::Kind::unusable_data, std::string(name), {.line = {}, .column = {}, .byte = byte},
                    expected, found);
}

bool recognises(std::string_view bytes) { return bytes.starts_with(gzip_magic) || bytes.starts_with(zip_magic); }

/// inflate() on bytes in memory, members one after the other.
class Inflater {
 public:
  Inflater(std::string_view name, const Content& content) : name_(name), content_(content) {
    if (inflateInit2(&stream_, 15 + 16) != Z_OK) throw std::bad_alloc();
  }
  ~Inflater() { inflateEnd(&stream_); }
  Inflater(const Inflater&) = delete;
  Inflater& operator=(const Inflater&) = delete;

  std::string all(std::size_t limit) {
    std::string content;
    content.reserve(std::min(limit, announced_bytes()));
    std::string block(block_bytes, '\0');
    for (;;) {
      const auto offered = content_.block(at_, block_bytes, input_).bytes;
      // zlib takes its input through a pointer to non-const and does not write to it.
      stream_.next_in = const_cast<Bytef*>(reinterpret_cast<const Bytef*>(offered.data()));
      stream_.avail_in = static_cast<uInt>(offered.size());
      stream_.next_out = reinterpret_cast<Bytef*>(block.data());
      stream_.avail_out = static_cast<uInt>(block.size());
      const int answer = inflate(&stream_, Z_NO_FLUSH);
      at_ += offered.size() - stream_.avail_in;
      content.append(block, 0, block.size() - stream_.avail_out);
      if (content.size() > limit)
        refuse(name_, at_, "at most " + std::to_string(limit) + " bytes of compressed content", "more");
      if (answer == Z_STREAM_END) {
        if (!content_.block(at_, gzip_magic.size(), input_).bytes.starts_with(gzip_magic)) return content;
        inflateReset(&stream_);
      } else if (answer == Z_MEM_ERROR) {
        throw std::bad_alloc();
      } else if (answer != Z_OK && answer != Z_BUF_ERROR) {
        refuse(name_, at_, "gzip data", stream_.msg == nullptr ? "other bytes" : std::string("an ") + "error: " + stream_.msg);
      } else if (at_ == content_.size() && stream_.avail_out != 0) {
        refuse(name_, at_, "the rest of the gzip data", "the end of the file");
      }
    }
  }

  std::size_t unread() const { return content_.size() - at_; }

 private:
  /// Size of the content in the last four bytes (RFC 1952, 2.3.1), as far as deflate can reach it (1032 to 1, zlib's own figure): room
  /// for it at once spares a second copy while it grows.
  std::size_t announced_bytes() {
    if (content_.size() < 18) return 0;
    const auto last = content_.block(content_.size() - 4, 4, input_).bytes;
    std::size_t size = 0;
    for (std::size_t i = 4; i-- > 0;) size = size << 8 | static_cast<unsigned char>(last[i]);
    return std::min(size, content_.size() * 1032);
  }

  std::string_view name_;
  const Content& content_;
  BlockBuffer input_;
  std::size_t at_ = 0;
  z_stream stream_{};
};

Capture read(std::string_view name, const Content& content, const ImportOptions& options) {
  if (content.head().starts_with(zip_magic))
    refuse(name, 0, "a capture", "a zip archive; unpack it and give the file inside");
  Inflater inflater(name, content);
  const std::string inside =
      inflater.all(options.memory_limit_bytes == 0 ? largest_content : std::min(largest_content, options.memory_limit_bytes));
  if (inside.empty()) refuse(name, 0, "a capture", "gzip data with nothing in it");
  for (const Format& format : formats()) {
    if (!format.recognises(inside)) continue;
    if (format.name == gzip_format.name) refuse(name, 0, "a capture inside the gzip data", "another compressed file");
    Capture capture = format.read(name, Content(inside), with_memory_left(options, inside.size()));
    if (capture.format.empty()) capture.format = format.name;
    capture.dialect += ", gzip-compressed";
    if (inflater.unread() != 0)
      capture.notes.push_back(std::to_string(inflater.unread()) + " bytes after the gzip data were not used");
    return capture;
  }
  refuse(name, 0, "delimited text, WAV or VCD inside the gzip data",
         "binary data beginning with the bytes " + first_bytes(inside));
}

}  // namespace

const Format gzip_format{"gzip", recognises, read};

}  // namespace pulsewright::importers
