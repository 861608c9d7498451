#pragma once
// Every option of the program, once: the parser and the help are made of this table.

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "reports/text/layout.hpp"

namespace pulsewright::cli {

struct Option {
  std::string_view name;   ///< without the dashes
  std::string_view value;  ///< what stands behind it; empty for a switch
  std::string_view group;
  std::string_view text;   ///< one sentence
};

struct Command {
  std::string_view name, argument, text;
  bool argument_required = true;
  std::span<const std::string_view> options;  ///< names, in the order of the help
  bool several = false;    ///< takes two arguments or more
};

std::span<const Option> options();
std::span<const Command> commands();
const Option& option(std::string_view name);

std::string help(const reports::TextStyle& style);
std::string help(const Command& command, const reports::TextStyle& style);
std::string version();

}  // namespace pulsewright::cli
