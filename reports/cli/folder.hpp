#pragma once
// Which files of a folder are captures, and when a file being saved is complete. Standard library only.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace pulsewright::cli {

/// Regular files of a folder that may be captures, sorted: not hidden, and none of the program's own reports by its ending
/// (.html, .json, .md, .png). Folders inside are not entered. Throws ImportError when the folder cannot be listed.
std::vector<std::string> files_in(const std::string& folder);

/// A folder into which captures are being saved. Times are the caller's, so that nothing here waits.
class SavedFiles {
 public:
  using Clock = std::chrono::steady_clock;

  /// What stands in the folder now counts as known, and is told of only once it changes. A file counts as complete when it
  /// holds something and neither its size nor its time of last write has changed for `settle`.
  SavedFiles(std::string folder, Clock::duration settle, Clock::time_point now);

  /// Looks again; files that have become complete since the last look, sorted. A file saved again is told of again.
  std::vector<std::string> complete(Clock::time_point now);

  /// Files seen that were not complete at the last look.
  std::size_t unfinished() const;

 private:
  struct Seen {
    std::uintmax_t size = 0;
    std::filesystem::file_time_type written;
    Clock::time_point since;  ///< of the last change seen
    bool told = false;
  };
  std::string folder_;
  Clock::duration settle_;
  std::map<std::string, Seen> seen_;
};

}  // namespace pulsewright::cli
