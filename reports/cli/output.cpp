#include "reports/cli/output.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <random>

#include "reports/cli/exit_status.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

namespace {

namespace fs = std::filesystem;

std::string shown(std::string_view path) { return reports::one_line(path, 200); }

[[noreturn]] void cannot_write(std::string_view path, const std::string& why) {
  throw OutputError("cannot write " + shown(path) + ": " + why);
}

/// What the C library left in errno, or a word for a failure that left nothing there.
std::string last_error() { return errno != 0 ? std::strerror(errno) : "input/output error"; }

/// Where a symbolic link leads, so that the link stays a link.
std::string resolved(const std::string& path) {
  std::error_code error;
  const auto target = fs::weakly_canonical(path, error);
  return error ? path : target.string();
}

fs::path folder_of(const std::string& path) {
  const auto folder = fs::path(path).parent_path();
  return folder.empty() ? fs::path(".") : folder;
}

bool same_file(const std::string& a, const std::string& b) {
  std::error_code error;
  if (fs::equivalent(a, b, error) && !error) return true;
  return resolved(a) == resolved(b);
}

struct Close {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, Close>;

/// Writes all of `content` to `file` and closes it: a full disk shows up here at the latest.
void write_and_close(File file, std::string_view content, std::string_view path) {
  errno = 0;
  if (std::fwrite(content.data(), 1, content.size(), file.get()) != content.size() || std::fflush(file.get()) != 0)
    cannot_write(path, last_error());
  if (std::fclose(file.release()) != 0) cannot_write(path, last_error());
}

/// A new file beside the target, under a hidden name that nothing else has. "x" of fopen never opens what exists.
std::pair<File, std::string> new_file_in(const fs::path& folder, std::string_view path) {
  std::random_device random;
  for (int attempt = 0; attempt < 100; ++attempt) {
    const auto name = (folder / (".pulsewright-" + std::to_string(random()))).string();
    errno = 0;
    if (File file{std::fopen(name.c_str(), "wbx")}) return {std::move(file), name};
    if (errno != EEXIST) break;
  }
  cannot_write(path, last_error());
}

void write_device(const std::string& path, std::string_view content) {
  errno = 0;
  File device{std::fopen(path.c_str(), "wb")};
  if (!device) cannot_write(path, last_error());
  write_and_close(std::move(device), content, path);
}

void remove_quietly(const std::string& path) {
  std::error_code gone;
  fs::remove(path, gone);
}

bool replaceable(const fs::file_status& status) { return !fs::exists(status) || fs::is_regular_file(status); }

}  // namespace

Outputs::~Outputs() {
  for (const auto& file : staged_) remove_quietly(file.temporary);
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
  std::error_code error;
  const auto status = fs::status(target, error);
  if (fs::is_directory(status)) cannot_write(path, std::strerror(EISDIR));
  if (!replaceable(status)) return;
  // Whether the folder takes files is tried: permissions alone do not tell (read-only file systems, the superuser).
  remove_quietly(new_file_in(folder_of(target), path).second);
}

void Outputs::stage(const std::string& path, std::string_view content) {
  if (path == "-") return write_standard_output(content);
  const std::string target = resolved(path);
  std::error_code error;
  const auto status = fs::status(target, error);
  if (!replaceable(status)) return write_device(path, content);
  auto [file, temporary] = new_file_in(folder_of(target), path);
  staged_.push_back({temporary, target});
  write_and_close(std::move(file), content, path);
  if (!fs::exists(status)) return;
  fs::permissions(temporary, status.permissions(), error);
  if (error) cannot_write(path, error.message());
}

void Outputs::commit() {
  while (!staged_.empty()) {
    const auto& file = staged_.front();
    std::error_code error;
    fs::rename(file.temporary, file.target, error);
    if (error) cannot_write(file.target, error.message());
    staged_.erase(staged_.begin());
  }
}

void write_standard_output(std::string_view content) {
  errno = 0;
  if (std::fwrite(content.data(), 1, content.size(), stdout) != content.size() || std::fflush(stdout) != 0)
    cannot_write("standard output", last_error());
}

}  // namespace pulsewright::cli
