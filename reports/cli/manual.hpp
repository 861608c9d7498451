#pragma once
// Manual pages and shell completions, made of the same table as the help. Used while the program is built.

#include <string>
#include <string_view>

#include "reports/cli/options.hpp"

namespace pulsewright::cli {

/// pulsewright(1) in man(7) macros; `date` as YYYY-MM-DD.
std::string manual_page(std::string_view date);

/// pulsewright-COMMAND(1).
std::string manual_page(const Command& command, std::string_view date);

std::string bash_completion();
std::string zsh_completion();
std::string fish_completion();

}  // namespace pulsewright::cli
