#include "reports/cli/terminal.hpp"

#include <unistd.h>
#if __has_include(<sys/ioctl.h>)
#include <sys/ioctl.h>
#endif

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <string_view>

namespace pulsewright::cli {

namespace {

std::size_t terminal_width() {
  std::size_t width = 0;
  if (const char* stated = std::getenv("COLUMNS")) {
    const std::string_view text = stated;
    if (std::from_chars(text.data(), text.data() + text.size(), width).ptr != text.data() + text.size()) width = 0;
  }
#ifdef TIOCGWINSZ
  winsize window{};
  if (width == 0 && ioctl(STDOUT_FILENO, TIOCGWINSZ, &window) == 0) width = window.ws_col;
#endif
  return std::clamp<std::size_t>(width == 0 ? 80 : width, 30, 110);
}

bool colour_wanted() {
  const char* refused = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  return standard_output_is_terminal() && (refused == nullptr || *refused == '\0') && terminal != nullptr &&
         std::string_view(terminal) != "dumb";
}

}  // namespace

bool standard_output_is_terminal() { return isatty(STDOUT_FILENO) == 1; }
bool standard_error_is_terminal() { return isatty(STDERR_FILENO) == 1; }

reports::TextStyle style_of_standard_output() { return {.width = terminal_width(), .colour = colour_wanted()}; }

}  // namespace pulsewright::cli
