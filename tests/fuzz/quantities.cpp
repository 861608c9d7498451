// Every reader of a quantity on the same text, then the text as the value of each option of a whole command line.

#include <fmt/format.h>

#include <cmath>
#include <string>
#include <vector>

#include "analyzer/diagnose.hpp"
#include "reports/cli/arguments.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/units.hpp"
#include "tests/fuzz/checks.hpp"

namespace {

using namespace pulsewright;

/// A value that was read, printed with all its digits, reads as itself.
template <class Parser>
void one_quantity(Parser parser, std::string_view text, std::string_view unit, bool zero_is_one) {
  try {
    const double value = parser(text);
    fuzz::require(std::isfinite(value) && (value > 0 || (zero_is_one && value == 0)), "a quantity is finite and not negative");
    fuzz::require(parser(fmt::format("{}{}", value, unit)) == value, "a quantity that is printed reads as itself");
  } catch (const cli::UnitError& error) {
    fuzz::require_one_line(error.what());
  }
}

void each_quantity(std::string_view text) {
  one_quantity(cli::parse_length_m, text, "m", false);
  one_quantity(cli::parse_resistance_ohm, text, "ohm", true);
  one_quantity(cli::parse_frequency_hz, text, "Hz", false);
  one_quantity(cli::parse_rate_hz, text, "", false);
  one_quantity(cli::parse_voltage_v, text, "V", false);
  one_quantity(cli::parse_ratio, text, "", true);
  one_quantity(cli::parse_probe_factor, text, "", false);
  one_quantity(cli::parse_factor, text, "", false);
  try {
    fuzz::require(cli::parse_ordinal(text) > 0, "an ordinal counts from 1");
  } catch (const cli::UnitError& error) {
    fuzz::require_one_line(error.what());
  }
  try {
    fuzz::require(cli::parse_size_bytes(text) > 0, "a size is at least a byte");
  } catch (const cli::UnitError& error) {
    fuzz::require_one_line(error.what());
  }
}

void command_line(const std::vector<std::string>& words) {
  try {
    cli::parse_arguments(words);
  } catch (const cli::UsageError& error) {
    fuzz::require(!std::string_view(error.what()).empty(), "a usage error says what is wrong");
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::text_of(data, size);
  each_quantity(text);
  if (size == 0 || text.find('\0') != std::string_view::npos) return 0;  // no argument of a process holds a zero byte
  const auto options = cli::options();
  const std::string option = "--" + std::string(options[data[0] % options.size()].name);
  for (const char* command : {"diagnose", "compare", "inspect", "protocols"})
    command_line({command, "a.csv", option, std::string(text.substr(1))});
  std::vector<std::string> words;
  for (std::size_t from = 0; from <= text.size();) {
    const auto end = std::min(text.find('\n', from), text.size());
    words.emplace_back(text.substr(from, end - from));
    from = end + 1;
  }
  command_line(words);
  return 0;
}
