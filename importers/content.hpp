#pragma once
// The bytes of a file, in memory or mapped.

#include <cstddef>
#include <string>
#include <string_view>

namespace pulsewright::importers {

struct Content {
  std::string_view bytes;
  bool mapped = false;  ///< pages come from a file and can be given back

  /// Tells the system that bytes [from, to) are not needed for now; they stay readable.
  void release(std::size_t from, std::size_t to) const;
};

/// A whole input: a mapped regular file, or what a pipe or standard input ("-") delivered.
class InputBytes {
 public:
  /// Throws ImportError when there is no such input, it is a directory, cannot be read, or is larger than
  /// `limit_bytes` (0: no limit) and has to be held in memory.
  InputBytes(const std::string& path, std::size_t limit_bytes);
  ~InputBytes();
  InputBytes(const InputBytes&) = delete;
  InputBytes& operator=(const InputBytes&) = delete;

  Content content() const;

 private:
  void read_all(int descriptor, std::size_t limit_bytes);

  std::string path_;
  std::string held_;
  void* map_ = nullptr;
  std::size_t map_size_ = 0;
};

}  // namespace pulsewright::importers
