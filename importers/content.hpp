#pragma once
// The bytes of an input, in memory or read from its file block by block.

#include <sys/stat.h>

#include <cstddef>
#include <memory>
#include <string>
#include <string_view>

namespace pulsewright::importers {

/// Part of a content, with how far beyond its ends memory may be read.
struct Block {
  std::string_view bytes;
  const char* readable_begin = nullptr;
  const char* readable_end = nullptr;
};

/// Room for one block of a file.
class BlockBuffer {
 public:
  /// At least `behind` bytes can be read behind the block; they are zero.
  explicit BlockBuffer(std::size_t behind = 64) : behind_(behind) {}

 private:
  friend class Content;
  char* room_for(std::size_t count);

  static constexpr std::size_t before_ = 64;
  std::size_t behind_, room_ = 0;
  std::unique_ptr<char[]> bytes_;
};

/// A regular file that is not expected to change while it is read.
class RegularFile {
 public:
  /// Takes over `descriptor`, which stands at the first byte to be used.
  RegularFile(std::string path, int descriptor, bool close_it, const struct stat& status);
  ~RegularFile();
  RegularFile(const RegularFile&) = delete;
  RegularFile& operator=(const RegularFile&) = delete;

  std::size_t size() const { return size_; }

  /// Bytes [at, at + count) to `place`. Throws ImportError when they cannot be read or are not there any more. Any
  /// number of threads may read at a time.
  void read(std::size_t at, std::size_t count, char* place) const;

  /// Throws ImportError when the file was written to since it was opened.
  void check_unchanged() const;

 private:
  std::string path_;
  int descriptor_;
  bool close_it_;
  struct stat status_;
  std::size_t begin_ = 0, size_ = 0;
};

/// What the importers read from. Cheap to copy; the memory or file behind it has to outlive it.
class Content {
 public:
  static constexpr std::size_t head_bytes = std::size_t{256} << 10;

  explicit Content(std::string_view held) : held_(held), size_(held.size()) {}
  /// `head` holds the first bytes of the file, at least `head_bytes` where it has so many.
  Content(const RegularFile& file, std::string_view head) : file_(&file), held_(head), size_(file.size()) {}

  std::size_t size() const { return size_; }
  /// The first bytes, at most `head_bytes`.
  std::string_view head() const { return held_.substr(0, head_bytes); }
  /// Bytes [at, at + count), fewer at the end of the content; valid until the buffer is used again.
  Block block(std::size_t at, std::size_t count, BlockBuffer& buffer) const;
  /// All bytes, where they are in memory already; else reads them into `place`.
  std::string_view whole(std::string& place) const;
  /// The content from byte `at` of its head on.
  Content from(std::size_t at) const;

 private:
  const RegularFile* file_ = nullptr;
  std::string_view held_;   ///< all bytes, or the head where there is a file
  std::size_t at_ = 0, size_ = 0;
};

/// A whole input: a regular file, or what a pipe or terminal on standard input ("-") delivered.
class InputBytes {
 public:
  /// Throws ImportError when there is no such input, it is a directory, cannot be read, or is larger than
  /// `limit_bytes` (0: no limit) and has to be held in memory.
  InputBytes(const std::string& path, std::size_t limit_bytes);

  Content content() const;

  /// All of a small file. Throws ImportError when it is larger than the limit given to the constructor.
  std::string_view small();

  /// Throws ImportError when the file was written to since it was opened.
  void check_unchanged() const;

 private:
  void read_all(int descriptor);
  void refuse_above_limit(std::size_t size) const;

  std::string path_;
  std::size_t limit_bytes_;
  std::unique_ptr<RegularFile> file_;
  std::string held_;  ///< everything, or the head of the file
};

}  // namespace pulsewright::importers
