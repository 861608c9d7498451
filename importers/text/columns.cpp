#include "importers/text/columns.hpp"

#include <algorithm>

namespace pulsewright::importers::text {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// "1,234": with a decimal mark that could separate thousands as well.
bool could_be_thousands(std::string_view cell, char decimal) {
  if (cell.starts_with('-') || cell.starts_with('+')) cell.remove_prefix(1);
  const auto mark = cell.find(decimal);
  return mark >= 1 && mark <= 3 && cell.size() == mark + 4 && cell.front() != '0' && std::all_of(cell.begin() + static_cast<std::ptrdiff_t>(mark) + 1, cell.end(), is_digit);
}

/// Numbers that say more than their digits: units behind them, and what may be separators of thousands.
void take_spelling(ColumnFacts& facts, std::string_view cell, char decimal) {
  const bool has_unit = !is_digit(cell.back()) && !unit_behind_number(cell, decimal).empty();
  if (has_unit && facts.with_unit == 0) facts.unit_cell = cell;
  const bool zero = *facts.last == 0;
  (has_unit ? facts.with_unit : facts.without_unit) += !zero || has_unit;
  const bool has_exponent = std::min(cell.find('e'), cell.find('E')) != std::string_view::npos;
  facts.marked += has_exponent || cell.find(decimal) != std::string_view::npos;
  if (has_exponent && cell.find_first_not_of("0123456789eE") == std::string_view::npos) facts.code_cell = cell;
  if (!could_be_thousands(cell, decimal)) return;
  if (facts.grouped++ == 0) facts.grouped_cell = cell;
}

void take_number(ColumnFacts& facts, std::string_view cell, char decimal) {
  const double value = *number_in(cell, decimal);
  ++facts.numbers;
  facts.bits = facts.bits && (cell == "0" || cell == "1");
  facts.integers = facts.integers && cell.find_first_not_of("+-0123456789") == std::string_view::npos;
  facts.consecutive = facts.consecutive && facts.integers && (!facts.last || value == *facts.last + 1);
  facts.rises += facts.last && value > *facts.last;
  facts.falls += facts.last && value < *facts.last;
  if (facts.different.size() < 3 &&
      std::find(facts.different.begin(), facts.different.end(), value) == facts.different.end())
    facts.different.push_back(value);
  if (!facts.first) facts.first = value;
  facts.last = value;
  take_spelling(facts, cell, decimal);
}

std::size_t decimals_of(std::string_view cell, char decimal) {
  const auto point = cell.find(decimal);
  if (point == std::string_view::npos) return 0;
  return std::min(cell.find_first_not_of("0123456789", point + 1), cell.size()) - point - 1;
}

void take_last_digit(ColumnFacts& facts, std::string_view cell, char decimal) {
  const double digit = last_digit_of(cell, decimal);
  const auto decimals = decimals_of(cell, decimal);
  if (facts.last_digit == 0) {
    facts.last_digit = facts.finest_digit = digit;
    facts.decimals = decimals;
  }
  facts.same_decimals = facts.same_decimals && decimals == facts.decimals;
  facts.last_digit = std::max(facts.last_digit, digit);
  facts.finest_digit = std::min(facts.finest_digit, digit);
}

void take_cell(ColumnFacts& facts, std::string_view cell, CellKind kind, char decimal) {
  ++facts.rows;
  switch (kind) {
    case CellKind::empty: ++facts.empty; return;
    case CellKind::number: take_number(facts, cell, decimal); break;
    case CellKind::missing: ++facts.missing; break;
    case CellKind::stamp: ++facts.stamps; break;
    case CellKind::unknown: ++facts.unknown; break;
    case CellKind::word: ++facts.words; break;
  }
  if (kind == CellKind::unknown && cell.size() > 1) facts.bits = false;
  if (kind == CellKind::stamp || (kind == CellKind::number && cell.find_first_of("123456789") < cell.find_first_of("eE")))
    take_last_digit(facts, cell, decimal);
}

void finish(ColumnFacts& facts) {
  facts.two_valued = facts.different.size() <= 2;
  facts.rising = facts.numbers > 1 && *facts.last > *facts.first && facts.rises > 4 * facts.falls;
  facts.bits = facts.bits && 4 * (facts.stamps + facts.words + facts.missing) <= facts.numbers;
  facts.consecutive = facts.consecutive && facts.numbers > 1;
  if (!facts.same_decimals) facts.last_digit = facts.finest_digit;
}

}  // namespace

std::vector<ColumnFacts> sample_columns(const Head& head) {
  std::vector<ColumnFacts> columns;
  const std::size_t rows = head.run_end - head.run_begin;
  for (std::size_t i = head.run_begin; i < head.run_end; ++i) {
    const HeadLine& line = head.lines[i];
    const bool cut = head.open_end && i + 1 == head.lines.size() && (rows > 2 || (rows > 1 && line.cells.back().empty()));
    if (line.comment || cut || line.kinds.size() <= head.key || line.kinds[head.key] == CellKind::empty) continue;
    if (columns.size() + head.key < line.cells.size()) columns.resize(std::min<std::size_t>(line.cells.size() - head.key, most_columns));
    for (std::size_t c = 0; c < columns.size(); ++c) {
      const std::size_t at = c + head.key;
      columns[c].index = at;
      if (at < line.cells.size()) take_cell(columns[c], line.cells[at], line.kinds[at], head.grid.decimal);
      else ++columns[c].rows, ++columns[c].empty;
    }
  }
  for (ColumnFacts& facts : columns) finish(facts);
  for (std::size_t c = 1; c + 1 < columns.size(); ++c)
    if (columns[c].filled() == 0 && columns[c + 1].words > 0) columns.resize(c);
  while (!columns.empty() && columns.back().filled() == 0) columns.pop_back();
  return columns;
}

}  // namespace pulsewright::importers::text
