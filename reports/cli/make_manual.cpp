// Writes manual pages and shell completions into a folder, while the program is built.
//   make_manual FOLDER DATE

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>

#include "reports/cli/manual.hpp"

namespace {

bool put(const std::filesystem::path& file, const std::string& text) {
  std::filesystem::create_directories(file.parent_path());
  std::ofstream out(file, std::ios::binary);
  out << text;
  return static_cast<bool>(out.flush());
}

}  // namespace

int main(int count, char** words) {
  using namespace pulsewright::cli;
  if (count != 3) return std::fputs("usage: make_manual FOLDER DATE\n", stderr), 64;
  const std::filesystem::path folder = words[1];
  bool written = put(folder / "man1/pulsewright.1", manual_page(words[2]));
  for (const auto& command : commands())
    written = put(folder / "man1" / ("pulsewright-" + std::string(command.name) + ".1"), manual_page(command, words[2])) && written;
  written = put(folder / "bash/pulsewright", bash_completion()) && written;
  written = put(folder / "zsh/_pulsewright", zsh_completion()) && written;
  written = put(folder / "fish/pulsewright.fish", fish_completion()) && written;
  if (written) return 0;
  return std::fprintf(stderr, "make_manual: cannot write to %s\n", words[1]), 73;
}
