#pragma once
// Files that appear whole or not at all.

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reports/cli/new_file.hpp"

namespace pulsewright::cli {

/// Outputs of one run. Nothing stands under its final name before all are written; on failure nothing is left behind.
class Outputs {
 public:
  /// Inputs are never written over.
  explicit Outputs(std::vector<std::string> inputs) : inputs_(std::move(inputs)) {}
  Outputs(const Outputs&) = delete;
  Outputs& operator=(const Outputs&) = delete;

  /// Refuses early: the output is an input or another output (UsageError), its folder is missing or not writable
  /// (OutputError). "-" is standard output, once. `option` is for the message.
  void announce(std::string_view option, const std::string& path);

  /// Writes `content` to a file in the folder of `path` that has no name yet; devices and pipes are written at once. Throws OutputError.
  void stage(const std::string& path, std::string_view content);

  /// Gives every staged file its name. Throws OutputError.
  void commit();

  bool use_standard_output() const { return to_standard_output_; }

 private:
  struct Staged {
    std::unique_ptr<NewFile> file;
    std::string target;
    std::optional<std::filesystem::perms> permissions;  ///< of the file that stands there
  };
  std::vector<std::string> inputs_, announced_;
  std::vector<Staged> staged_;
  bool to_standard_output_ = false;
};

/// Writes and flushes. Throws OutputError when standard output does not take it.
void write_standard_output(std::string_view content);

}  // namespace pulsewright::cli
