#include "importers/text/evidence.hpp"

#include <algorithm>
#include <cctype>
#include <map>

#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::importers::text {

namespace {

/// "1,234,5,678": rows longer than the names above, or integers in pairs that could be decimals.
void refuse_ambiguous_commas(const Evidence& e) {
  if (e.head.grid.delimiter != ',' || e.head.run_begin == e.head.run_end) return;
  bool all_integers = true, leading_zero = false, no_points = true;
  for (std::size_t i = e.head.run_begin; i < e.head.run_end; ++i)
    for (const auto cell : e.head.lines[i].cells) {
      all_integers = all_integers && cell.find_first_not_of("+-0123456789 ") == std::string_view::npos;
      leading_zero = leading_zero || (cell.size() > 1 && cell[0] == '0');
      no_points = no_points && cell.find('.') == std::string_view::npos;
    }
  const std::string found = "commas that may be decimal marks or separators, " + quoted(e.head.lines[e.head.run_begin].raw);
  const std::string expected = "numbers with a decimal point, or separators other than commas";
  if (e.header.names_line) {
    const auto above = e.head.run_begin > 0 ? e.head.lines[e.head.run_begin - 1].cells.size() : 0;
    const auto wide = usual_row_cells(e);
    if (no_points && wide > above && above > 0 && wide % 2 == 0) refuse(e, expected, found);
  } else if (all_integers) {
    const bool index_first = e.facts.front().consecutive;
    if (leading_zero || (!index_first && e.facts.size() > 1 && e.facts.size() % 2 == 0 && !e.facts.front().rising)) refuse(e, expected, found);
  }
}

/// "1.5-", "*0.1", "T-0.1": a number with something beside it.
bool is_like_a_number(std::string_view cell) {
  const auto digit = cell.find_first_of("0123456789");
  if (cell.empty() || (cell.front() & 0x80) != 0 || std::string_view("+-.(").find(cell.front()) != std::string_view::npos) return !cell.empty();
  if (digit == std::string_view::npos) return false;
  const auto sign = cell.find_last_of("+-");
  const bool ends_in_signed_decimal = sign != std::string_view::npos && cell.find('.', sign) != std::string_view::npos && cell.find_first_not_of("0123456789.", sign + 1) == std::string_view::npos;
  return digit == 0 || std::isalpha(static_cast<unsigned char>(cell.front())) == 0 || ends_in_signed_decimal;
}

/// A carriage return inside a line: rows that end in other ways than the rest would be lost.
void refuse_odd_line_ends(const Evidence& e) {
  for (std::size_t i = 0; i < e.head.run_end; ++i)
    if (e.head.lines[i].raw.find('\r') != std::string_view::npos)
      throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(i), .column = {}, .byte = {}}, "lines that all end in a line feed", "a carriage return inside a line");
}

/// A row right above the others whose first cell is no number, "1.5-": left out it would be lost in silence.
void refuse_odd_row_above(const Evidence& e) {
  if (e.head.run_begin == 0 || e.facts.size() < 2 || (e.header.titles_begin < e.head.run_begin && e.header.titles_begin + 1 >= e.head.run_begin)) return;
  const HeadLine& line = e.head.lines[e.head.run_begin - 1];
  if (line.comment || line.cells.size() != e.facts.size() + e.head.key) return;
  const auto key = line.cells[e.head.key];
  const auto behind = line.kinds.begin() + static_cast<std::ptrdiff_t>(e.head.key) + 1;
  if (!is_like_a_number(key) || line.kinds[e.head.key] != CellKind::word || !std::all_of(behind, line.kinds.end(), [](auto kind) { return kind == CellKind::number; })) return;
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.head.run_begin - 1), .column = e.head.key + 1, .byte = {}}, "a number", quoted(key));
}

/// Numbers like "1,234" among whole ones: thousands or decimals; like "1E2": hexadecimal codes or exponents.
void refuse_ambiguous_numbers(const Evidence& e) {
  for (std::size_t c = 0; c < e.facts.size(); ++c) {
    const auto& facts = e.facts[c];
    if (facts.grouped > 1 && facts.grouped == facts.marked && facts.marked < facts.without_unit)
      refuse_column(e, c, "decimals in every number or no separators of thousands", facts.grouped_cell);
    if (!facts.code_cell.empty() && facts.without_unit > facts.marked) refuse_column(e, c, "whole numbers without an exponent, or all with one", facts.code_cell);
  }
}

}  // namespace

void refuse(const Evidence& e, const std::string& expected, const std::string& found) {
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.head.run_begin), .column = {}, .byte = {}}, expected, found);
}

void refuse_column(const Evidence& e, std::size_t c, const std::string& expected, std::string_view found) {
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.head.run_begin), .column = e.facts[c].index + 1, .byte = {}}, expected, quoted(found));
}

std::size_t usual_row_cells(const Evidence& e) {
  std::map<std::size_t, std::size_t> rows;
  for (std::size_t i = e.head.run_begin; i < e.head.run_end; ++i) {
    const auto& cells = e.head.lines[i].cells;
    if (e.head.lines[i].comment || cells.size() <= e.head.key) continue;
    const auto begin = cells.begin() + static_cast<std::ptrdiff_t>(e.head.key);
    ++rows[static_cast<std::size_t>(std::find_if(begin, cells.end(), [](auto cell) { return cell.empty(); }) - cells.begin())];
  }
  const auto most = std::max_element(rows.begin(), rows.end(), [](const auto& a, const auto& b) { return a.second <= b.second; });
  return std::max(e.header.named, most->first);
}

void refuse_ambiguity(const Evidence& e) {
  refuse_odd_line_ends(e);
  refuse_ambiguous_commas(e);
  refuse_ambiguous_numbers(e);
  refuse_odd_row_above(e);
}

}  // namespace pulsewright::importers::text
