#pragma once
// A file that stands in its folder only when it is whole.

#include <cstdio>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace pulsewright::cli {

/// Until it takes its name nothing of it is to be seen, whatever ends the program: it has none at all where the system can
/// do that (Linux with /proc, on most file systems), else a hidden one, ".pulsewright-" and a number, which goes with the object.
///
/// Every member throws std::system_error when the folder or the disk does not take the file.
class NewFile {
 public:
  enum class Until { nameless_if_possible, hidden };

  explicit NewFile(std::filesystem::path folder, Until until = Until::nameless_if_possible);
  ~NewFile();
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  /// All of the content. A full disk shows up here.
  void write(std::string_view content);

  /// Stands as `target` in the folder from now on, in one step, in place of what stood there.
  /// `permissions`: those of the file that it replaces. What it replaces asks for a hidden name first, and a program that is
  /// killed between these two steps leaves the new file, whole, under that name.
  void take_name(const std::filesystem::path& target, std::optional<std::filesystem::perms> permissions);

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  using File = std::unique_ptr<std::FILE, Close>;

  static File without_name(const std::filesystem::path& folder);
  void open_hidden();
  void set(std::filesystem::perms permissions) const;
  bool link_as(const std::filesystem::path& name) const;
  void link_hidden();

  std::filesystem::path folder_, hidden_;  ///< `hidden_` is empty while the file has no name
  File file_;
};

}  // namespace pulsewright::cli
