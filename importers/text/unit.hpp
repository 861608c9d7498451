#pragma once
// Units as they stand in headers and cells: "(ms)", "Volt", "in V", "Probe 1 (mV)".

#include <optional>
#include <string>
#include <string_view>

namespace pulsewright::importers::text {

enum class Quantity { time, voltage, current, count, frequency, index };

struct Unit {
  Quantity quantity;
  double scale = 1;  ///< to the SI unit; exact powers of ten
};

/// SI unit of the quantity: "s", "V", "A", "count", "Hz", "".
std::string symbol(Quantity quantity);

/// A word that is nothing but a unit, in parentheses or not; 'm' and 'M' differ.
std::optional<Unit> unit_of(std::string_view word);

struct NameAndUnit {
  std::string name;
  std::optional<Unit> unit;
  std::string unknown_unit{};  ///< what stands in brackets behind the name and is no unit; part of the name too
};

/// "Probe 1 (V)", "Time[s]", "A in V", "voltage_A_V", "duration d / s", "Time, us", "CH1 mV" -> name and unit.
NameAndUnit split_name(std::string_view cell);

/// "(ms)" -> "ms"; other text as it is.
std::string_view without_brackets(std::string_view text);

/// Without blanks and quotes around it.
std::string_view trimmed(std::string_view text);

/// Lower-case letters and digits only, for comparing keys and names.
std::string plain(std::string_view text);

}  // namespace pulsewright::importers::text
