#include "reports/cli/output.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <system_error>
#include <utility>

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

void write_device(const std::string& path, std::string_view content) {
  errno = 0;
  const auto close = [](std::FILE* file) { std::fclose(file); };
  std::unique_ptr<std::FILE, decltype(close)> device(std::fopen(path.c_str(), "wb"));
  if (!device || std::fwrite(content.data(), 1, content.size(), device.get()) != content.size() || std::fflush(device.get()) != 0 ||
      std::fclose(device.release()) != 0)
    cannot_write(path, last_error());
}

bool replaceable(const fs::file_status& status) { return !fs::exists(status) || fs::is_regular_file(status); }

}  // namespace

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
  try {
    const NewFile tried(folder_of(target));
  } catch (const std::system_error& problem) {
    cannot_write(path, problem.code().message());
  }
}

void Outputs::stage(const std::string& path, std::string_view content) {
  if (path == "-") return write_standard_output(content);
  const std::string target = resolved(path);
  std::error_code error;
  const auto status = fs::status(target, error);
  if (!replaceable(status)) return write_device(path, content);
  try {
    auto file = std::make_unique<NewFile>(folder_of(target));
    file->write(content);
    staged_.push_back({std::move(file), target, fs::exists(status) ? std::optional(status.permissions()) : std::nullopt});
  } catch (const std::system_error& problem) {
    cannot_write(path, problem.code().message());
  }
}

void Outputs::commit() {
  while (!staged_.empty()) {
    const auto& [file, target, permissions] = staged_.front();
    try {
      file->take_name(target, permissions);
    } catch (const std::system_error& problem) {
      cannot_write(target, problem.code().message());
    }
    staged_.erase(staged_.begin());
  }
}

void write_standard_output(std::string_view content) {
  errno = 0;
  if (std::fwrite(content.data(), 1, content.size(), stdout) != content.size() || std::fflush(stdout) != 0)
    cannot_write("standard output", last_error());
}

}  // namespace pulsewright::cli
