#include "reports/cli/folder.hpp"

#include <algorithm>
#include <array>

#include "importers/import_error.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

namespace {

namespace fs = std::filesystem;

bool may_be_capture(const fs::directory_entry& entry) {
  std::error_code gone;
  const std::string name = entry.path().filename().string();
  if (name.starts_with('.') || !entry.is_regular_file(gone) || gone) return false;
  std::string ending = entry.path().extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  constexpr std::array<const char*, 4> reports{".html", ".json", ".md", ".png"};
  return std::find(reports.begin(), reports.end(), ending) == reports.end();
}

}  // namespace

std::vector<std::string> files_in(const std::string& folder) {
  std::vector<std::string> files;
  std::error_code error;
  for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error))
    if (may_be_capture(*at)) files.push_back(at->path().string());
  if (error)
    throw importers::ImportError(importers::ImportError::Kind::no_such_input, reports::one_line(folder, 200), {},
                                 "a folder that can be listed", error.message());
  std::sort(files.begin(), files.end());
  return files;
}

SavedFiles::SavedFiles(std::string folder, Clock::duration settle, Clock::time_point now)
    : folder_(std::move(folder)), settle_(settle) {
  complete(now);
  for (auto& [file, seen] : seen_) seen.told = true;
}

std::vector<std::string> SavedFiles::complete(Clock::time_point now) {
  std::map<std::string, Seen> present;
  std::vector<std::string> found;
  for (const auto& file : files_in(folder_)) {
    std::error_code gone;
    Seen looks{.size = fs::file_size(file, gone), .written = {}, .since = now, .told = false};
    if (!gone) looks.written = fs::last_write_time(file, gone);
    if (gone) continue;
    const auto before = seen_.find(file);
    if (before != seen_.end() && before->second.size == looks.size && before->second.written == looks.written) {
      looks.since = before->second.since;
      looks.told = before->second.told;
    }
    if (!looks.told && looks.size > 0 && now - looks.since >= settle_) {
      looks.told = true;
      found.push_back(file);
    }
    present.emplace(file, looks);
  }
  seen_ = std::move(present);
  return found;
}

std::size_t SavedFiles::unfinished() const {
  return static_cast<std::size_t>(std::count_if(seen_.begin(), seen_.end(), [](const auto& file) { return !file.second.told; }));
}

}  // namespace pulsewright::cli
