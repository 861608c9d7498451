#pragma once
// What the first rows say about each column.

#include <optional>
#include <vector>

#include "importers/text/head.hpp"

namespace pulsewright::importers::text {

struct ColumnFacts {
  std::size_t index = 0;  ///< in the line, counted from 0
  std::size_t rows = 0, numbers = 0, stamps = 0, empty = 0, unknown = 0, words = 0, missing = 0;
  bool bits = true;         ///< the numbers are the digits 0 and 1, and hardly anything else stands between
  bool integers = true;     ///< no decimals, no exponent
  bool two_valued = true;   ///< at most two different numbers
  bool rising = true;       ///< rises, and hardly ever falls: records begin anew, or a row is out of place
  bool consecutive = true;  ///< integers that rise by one
  std::vector<double> different;  ///< the first three different numbers
  std::optional<double> first, last;
  std::size_t rises = 0, falls = 0;
  /// One unit of the last printed digit: the coarsest when all have the same number of decimals (fixed or scientific
  /// notation), the finest when numbers are printed as short as possible. 0 when only zeros stand there.
  double last_digit = 0, finest_digit = 0;
  std::size_t decimals = 0;  ///< of the first number
  std::size_t with_unit = 0, without_unit = 0;  ///< numbers but zero with a unit or prefix behind them, and with none
  std::string_view unit_cell;  ///< the first of the former
  std::size_t grouped = 0, marked = 0;  ///< numbers like "1,234", and all that have a decimal mark or an exponent
  std::string_view grouped_cell, code_cell;  ///< the last one: "1E2", which can be a hexadecimal code
  bool same_decimals = true;

  std::size_t filled() const { return rows - empty; }
  bool is_numeric() const { return numbers + stamps > 0 && 2 * (numbers + stamps + unknown + missing) > rows; }
};

/// So many columns are looked at.
inline constexpr std::size_t most_columns = 512;

/// Columns from the key column on, as far as they belong to the samples: a column of words behind an empty one
/// starts metadata that stands beside the samples.
std::vector<ColumnFacts> sample_columns(const Head& head);

}  // namespace pulsewright::importers::text
