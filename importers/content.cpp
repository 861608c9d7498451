#include "importers/content.hpp"

#include <fcntl.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <system_error>

#include "importers/import_error.hpp"

namespace pulsewright::importers {

namespace {

using Kind = ImportError::Kind;

/// Closes a descriptor that was opened here.
struct Descriptor {
  int number;
  bool own;
  ~Descriptor() {
    if (own && number >= 0) ::close(number);
  }
};

[[noreturn]] void refuse(const std::string& path, const std::string& found, Kind kind) {
  throw ImportError(kind, path, {}, "a capture file", found);
}

std::string reason(int error) { return std::generic_category().message(error); }

}  // namespace

void Content::release(std::size_t from, std::size_t to) const {
  if (!mapped || to > bytes.size() || from >= to) return;
  static const auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
  const auto base = reinterpret_cast<std::uintptr_t>(bytes.data());
  const std::uintptr_t begin = (base + from + page - 1) / page * page;
  const std::uintptr_t end = (base + to) / page * page;
  if (begin < end) ::madvise(reinterpret_cast<void*>(begin), end - begin, MADV_DONTNEED);
}

InputBytes::InputBytes(const std::string& path, std::size_t limit_bytes) : path_(path) {
  const bool standard_input = path == "-";
  const Descriptor file{standard_input ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC), !standard_input};
  if (file.number < 0) {
    const int error = errno;
    if (error == ENOENT || error == ENOTDIR || path.empty()) refuse(path, "no such file", Kind::no_such_input);
    refuse(path, "a file that cannot be opened (" + reason(error) + ")", Kind::no_such_input);
  }
  struct stat status {};
  if (::fstat(file.number, &status) != 0) refuse(path, reason(errno), Kind::no_such_input);
  if (S_ISDIR(status.st_mode)) refuse(path, "a directory", Kind::no_such_input);
  if (S_ISREG(status.st_mode) && status.st_size > 0 && !standard_input) {
    map_size_ = static_cast<std::size_t>(status.st_size);
    void* map = ::mmap(nullptr, map_size_, PROT_READ, MAP_PRIVATE, file.number, 0);
    if (map != MAP_FAILED) {
      map_ = map;
      return;
    }
  }
  read_all(file.number, limit_bytes);
}

InputBytes::~InputBytes() {
  if (map_ != nullptr) ::munmap(map_, map_size_);
}

Content InputBytes::content() const {
  if (map_ != nullptr) return {{static_cast<const char*>(map_), map_size_}, true};
  return {held_, false};
}

void InputBytes::read_all(int descriptor, std::size_t limit_bytes) {
  std::string block(std::size_t{1} << 18, '\0');
  for (;;) {
    const ssize_t got = ::read(descriptor, block.data(), block.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) refuse(path_, "a file that cannot be read (" + reason(errno) + ")", Kind::no_such_input);
    if (got == 0) return;
    held_.append(block, 0, static_cast<std::size_t>(got));
    if (limit_bytes != 0 && held_.size() > limit_bytes)
      refuse(path_, "more than " + std::to_string(limit_bytes) + " bytes, the memory limit", Kind::unusable_data);
  }
}

}  // namespace pulsewright::importers
