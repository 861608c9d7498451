#include "reports/cli/new_file.hpp"

#include <fcntl.h>
#ifdef O_TMPFILE
#include <unistd.h>
#endif

#include <cerrno>
#include <random>
#include <system_error>
#include <utility>

namespace pulsewright::cli {

namespace {

namespace fs = std::filesystem;

constexpr int attempts = 100;

/// What the C library left in errno, or a word for a failure that left nothing there.
[[noreturn]] void fail() { throw std::system_error(errno != 0 ? errno : EIO, std::generic_category()); }

fs::path random_name(const fs::path& folder) {
  std::random_device random;
  return folder / (".pulsewright-" + std::to_string(random()));
}

#ifdef O_TMPFILE
std::string by_descriptor(std::FILE* file) { return "/proc/self/fd/" + std::to_string(::fileno(file)); }
#endif

}  // namespace

NewFile::NewFile(fs::path folder, Until until) : folder_(std::move(folder)) {
  if (until == Until::nameless_if_possible) file_ = without_name(folder_);
  if (!file_) open_hidden();
}

NewFile::~NewFile() {
  file_.reset();
  std::error_code gone;
  if (!hidden_.empty()) fs::remove(hidden_, gone);
}

NewFile::File NewFile::without_name([[maybe_unused]] const fs::path& folder) {
#ifdef O_TMPFILE
  const int first = ::open(folder.c_str(), O_TMPFILE | O_WRONLY | O_CLOEXEC, 0666);
  if (first < 0) return {};
  const int descriptor = ::fcntl(first, F_DUPFD_CLOEXEC, 3);  // never where a closed standard stream was
  ::close(first);
  if (descriptor < 0) return {};
  File file(::fdopen(descriptor, "wb"));
  if (!file) ::close(descriptor);
  if (file && ::access(by_descriptor(file.get()).c_str(), F_OK) == 0) return file;
#endif
  return {};
}

/// "x" of fopen never opens what exists.
void NewFile::open_hidden() {
  for (int attempt = 0; attempt < attempts; ++attempt) {
    auto name = random_name(folder_);
    errno = 0;
    file_.reset(std::fopen(name.string().c_str(), "wbx"));
    if (file_) {
      hidden_ = std::move(name);
      return;
    }
    if (errno != EEXIST) break;
  }
  fail();
}

void NewFile::write(std::string_view content) {
  errno = 0;
  if (std::fwrite(content.data(), 1, content.size(), file_.get()) != content.size() || std::fflush(file_.get()) != 0) fail();
  if (hidden_.empty()) return;  // closing would end it
  if (std::fclose(file_.release()) != 0) fail();
}

void NewFile::set(fs::perms permissions) const {
#ifdef O_TMPFILE
  if (hidden_.empty()) return fs::permissions(by_descriptor(file_.get()), permissions);
#endif
  fs::permissions(hidden_, permissions);
}

/// False when something stands there already.
bool NewFile::link_as([[maybe_unused]] const fs::path& name) const {
#ifdef O_TMPFILE
  if (::linkat(AT_FDCWD, by_descriptor(file_.get()).c_str(), AT_FDCWD, name.c_str(), AT_SYMLINK_FOLLOW) == 0) return true;
  if (errno != EEXIST) fail();
#endif
  return false;
}

void NewFile::link_hidden() {
  for (int attempt = 0; attempt < attempts; ++attempt) {
    auto name = random_name(folder_);
    if (!link_as(name)) continue;
    hidden_ = std::move(name);
    return;
  }
  fail();
}

void NewFile::take_name(const fs::path& target, std::optional<fs::perms> permissions) {
  if (permissions) set(*permissions);
  if (hidden_.empty() && !permissions && link_as(target)) {
    file_.reset();
    return;
  }
  if (hidden_.empty()) link_hidden();  // a link takes no name that exists; a rename does, and must follow at once
  fs::rename(hidden_, target);
  hidden_.clear();
  file_.reset();
}

}  // namespace pulsewright::cli
