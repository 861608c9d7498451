#include "reports/cli/output.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

#include "reports/cli/exit_status.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

namespace {

namespace fs = std::filesystem;

std::string shown(std::string_view path) { return reports::one_line(path, 200); }

[[noreturn]] void cannot_write(std::string_view path, int error) {
  throw OutputError("cannot write " + shown(path) + ": " + std::strerror(error));
}

/// Where a symbolic link leads, so that the link stays a link.
std::string resolved(const std::string& path) {
  std::error_code error;
  const auto target = fs::weakly_canonical(path, error);
  return error ? path : target.string();
}

std::string folder_of(const std::string& path) {
  const auto folder = fs::path(path).parent_path();
  return folder.empty() ? "." : folder.string();
}

bool same_file(const std::string& a, const std::string& b) {
  std::error_code error;
  if (fs::equivalent(a, b, error) && !error) return true;
  return resolved(a) == resolved(b);
}

void write_all(int descriptor, std::string_view content, std::string_view path) {
  while (!content.empty()) {
    const ssize_t written = ::write(descriptor, content.data(), content.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) cannot_write(path, written < 0 ? errno : EIO);
    content.remove_prefix(static_cast<std::size_t>(written));
  }
}

class Descriptor {
 public:
  explicit Descriptor(int descriptor) : descriptor_(descriptor) {}
  ~Descriptor() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int get() const { return descriptor_; }
  int close() { return ::close(std::exchange(descriptor_, -1)); }

 private:
  int descriptor_;
};

mode_t mode_for(const std::string& target) {
  struct stat before {};
  if (::stat(target.c_str(), &before) == 0) return before.st_mode & 07777u;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return static_cast<mode_t>(0666u & ~mask);
}

void write_device(const std::string& path, std::string_view content) {
  Descriptor device(::open(path.c_str(), O_WRONLY | O_CLOEXEC));
  if (device.get() < 0) cannot_write(path, errno);
  write_all(device.get(), content, path);
  if (device.close() != 0) cannot_write(path, errno);
}

}  // namespace

Outputs::~Outputs() {
  for (const auto& file : staged_) ::unlink(file.temporary.c_str());
}

void Outputs::announce(std::string_view option, const std::string& path) {
  if (path.empty()) return;
  const std::string prefix = "--" + std::string(option) + " ";
  if (path == "-") {
    if (to_standard_output_) throw UsageError("only one report can go to standard output");
    to_standard_output_ = true;
    return;
  }
  for (const auto& input : inputs_)
    if (!input.empty() && input != "-" && same_file(input, path))
      throw UsageError(prefix + shown(path) + ": that is an input; it is never written over");
  for (const auto& other : announced_)
    if (same_file(other, path)) throw UsageError(prefix + shown(path) + ": another report goes there already");
  announced_.push_back(path);
  const std::string target = resolved(path);
  struct stat found {};
  if (::stat(target.c_str(), &found) == 0 && S_ISDIR(found.st_mode)) cannot_write(path, EISDIR);
  const std::string folder = folder_of(target);
  if (::stat(folder.c_str(), &found) != 0) cannot_write(path, errno);
  if (!S_ISDIR(found.st_mode)) cannot_write(path, ENOTDIR);
  if (::access(folder.c_str(), W_OK | X_OK) != 0) cannot_write(path, errno);
}

void Outputs::stage(const std::string& path, std::string_view content) {
  if (path == "-") return write_standard_output(content);
  const std::string target = resolved(path);
  struct stat found {};
  if (::stat(target.c_str(), &found) == 0 && !S_ISREG(found.st_mode)) return write_device(path, content);
  std::string temporary = folder_of(target) + "/.pulsewright-XXXXXX";
  Descriptor file(::mkostemp(temporary.data(), O_CLOEXEC));
  if (file.get() < 0) cannot_write(path, errno);
  staged_.push_back({temporary, target});
  write_all(file.get(), content, path);
  if (::fchmod(file.get(), mode_for(target)) != 0 || file.close() != 0) cannot_write(path, errno);
}

void Outputs::commit() {
  while (!staged_.empty()) {
    const auto& file = staged_.front();
    if (::rename(file.temporary.c_str(), file.target.c_str()) != 0) cannot_write(file.target, errno);
    staged_.erase(staged_.begin());
  }
}

void write_standard_output(std::string_view content) { write_all(STDOUT_FILENO, content, "standard output"); }

}  // namespace pulsewright::cli
