#pragma once
// The built program as a user runs it: through a shell, in a folder of its own.

#include <stdlib.h>
#include <sys/wait.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

namespace pulsewright::program {

struct Result {
  int status = -1;
  std::string out, err;
  /// Lines on standard error.
  std::size_t complaints() const { return static_cast<std::size_t>(std::count(err.begin(), err.end(), '\n')); }
};

/// An empty folder that goes with its object.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "pulsewright-test-XXXXXX").string();
    path_ = mkdtemp(name.data());
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  std::string write(const std::string& name, const std::string& bytes) const {
    std::ofstream(path_ / name, std::ios::binary) << bytes;
    return (path_ / name).string();
  }
  std::string read(const std::string& name) const {
    std::ifstream file(path_ / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  }
  /// What stands in the folder, or in one inside it, sorted.
  std::vector<std::string> names(const std::string& inside = "") const {
    std::vector<std::string> found;
    for (const auto& entry : std::filesystem::directory_iterator(path_ / inside)) found.push_back(entry.path().filename().string());
    std::sort(found.begin(), found.end());
    return found;
  }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

/// How often `part` stands in `text`.
inline std::size_t count(const std::string& text, const std::string& part) {
  std::size_t found = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++found;
  return found;
}

/// `command` is a line of the shell; "pulsewright" in it is the built program. The working folder is `folder`.
inline Result run(const Folder& folder, const std::string& command) {
  static const Folder streams;
  const std::string out = (streams.path() / "out").string(), err = (streams.path() / "err").string();
  const std::string line = "cd '" + folder.path().string() + "' && PATH='" PULSEWRIGHT_BINARY_DIR "/reports/cli':\"$PATH\" && { " +
                           command + "; } >'" + out + "' 2>'" + err + "'";
  const int raw = std::system(line.c_str());
  return {WIFEXITED(raw) ? WEXITSTATUS(raw) : -1, streams.read("out"), streams.read("err")};
}

}  // namespace pulsewright::program
