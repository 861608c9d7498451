#pragma once
// Every option of the program, once: parser, help, manual pages and completions are made of this table.

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

struct Example {
  std::string_view command_line;  ///< runs in the folder of the demo captures
  std::string_view text;          ///< what it does
};

struct Meaning {
  int status;
  std::string_view text;
};

struct Command {
  std::string_view name, argument, text;
  bool argument_required = true;
  std::span<const std::string_view> options;  ///< names, in the order of the help
  bool several = false;    ///< takes two arguments or more
  std::span<const std::string_view> description;  ///< paragraphs of the manual page
  std::span<const Example> examples;
  std::span<const Meaning> statuses;              ///< those that say something of the signal
};

std::span<const Option> options();
std::span<const Command> commands();
const Option& option(std::string_view name);  ///< one that there is

/// The option of that name, nothing where there is none.
const Option* find_option(std::string_view name);

/// Status of the program for what went wrong, whatever the command (sysexits).
std::span<const Meaning> failures();

inline constexpr std::string_view kPurpose =
    "pulsewright reads a capture of a pixel-LED data line and says whether the signal is sound, what is wrong, and which "
    "series resistor to fit.";
inline constexpr std::string_view kUnitsNote =
    "Everything is optional; what is not stated is assumed, and the report says so. Quantities take units: 40ft, 33ohm, 4k7, "
    "100MS/s, 100MHz, 3.3V.";

/// "CAPTURE...", "[ID]"
std::string argument_shown(const Command& command);

std::string help(const reports::TextStyle& style);
std::string help(const Command& command, const reports::TextStyle& style);
std::string version();

}  // namespace pulsewright::cli
