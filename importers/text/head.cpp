#include "importers/text/head.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <span>

#include "importers/text/unit.hpp"

namespace pulsewright::importers::text {

namespace {

constexpr std::size_t head_lines = 3000;

constexpr std::array grids{Grid{'\t', '.'}, Grid{'\t', ','}, Grid{';', '.'}, Grid{';', ','}, Grid{',', '.'}, Grid{',', ','},  // the last with quotes
                           Grid{'|', '.'},  Grid{' ', '.'},  Grid{' ', ','}, Grid{'\0', '.'}, Grid{'\0', ','}};

bool is_numeric(CellKind kind) { return kind == CellKind::number || kind == CellKind::stamp; }

void cut_into_lines(std::string_view scanned, std::size_t text_bytes, Head& head) {
  std::size_t at = 0;
  while (at < scanned.size() && head.lines.size() < head_lines) {
    const auto end = scanned.find('\n', at);
    if (end == std::string_view::npos && scanned.size() < text_bytes && !head.lines.empty()) break;
    auto raw = scanned.substr(at, end == std::string_view::npos ? end : end - at);
    while (raw.ends_with('\r')) raw.remove_suffix(1);
    head.lines.push_back({at, raw, false, {}, {}});
    head.open_end = end == std::string_view::npos;
    at = head.open_end ? scanned.size() : end + 1;
  }
  head.whole_text = at >= text_bytes;
  head.open_end = head.open_end && head.whole_text;
}

/// How well lines read as numbers under this grid: the share of numbers in each line, more cells counting a little.
double score(const std::vector<std::string_view>& lines, const Grid& grid) {
  double sum = 0;
  for (const auto line : lines) {
    double numbers = 0, filled = 0;
    for (const auto cell : split(line, grid)) {
      const auto kind = kind_of(cell, grid.decimal);
      if (kind == CellKind::empty) continue;
      filled += 1;
      if (is_numeric(kind)) numbers += 1;
      if (kind == CellKind::unknown || kind == CellKind::missing) numbers += 0.5;
    }
    if (numbers > 0) sum += numbers / filled + 0.001 * std::min(numbers, 50.0);
  }
  return sum;
}

bool single_column(const std::vector<std::string_view>& lines, const Grid& grid) {
  return std::ranges::all_of(lines, [&](auto line) { return split(line, grid).size() == 1; });
}

/// Cells that the first lines fall into: single-column rows read alike under every grid, the metadata above them do not.
/// Blanks do not count: names and comments have them too.
std::size_t cells_on_top(const Head& head, const Grid& grid) {
  std::size_t cells = 0;
  for (std::size_t i = 0; i < std::min<std::size_t>(head.lines.size(), 60); ++i) cells += split(without_mark(head.lines[i].raw), grid).size();
  return cells;
}

bool only_digits(std::string_view text) { return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos; }

/// "3,2990e+00" or "3": what could be one number with a decimal comma.
bool could_be_one_number(std::string_view line) {
  line = trimmed(line);
  if (line.starts_with('+') || line.starts_with('-')) line.remove_prefix(1);
  const auto digits = line.substr(0, std::min(line.find('e'), line.find('E')));
  const auto comma = digits.find(',');
  return only_digits(digits.substr(0, comma)) && (comma == std::string_view::npos || only_digits(digits.substr(comma + 1))) &&
         kind_of(line, ',') == CellKind::number;
}

/// One column of numbers with decimal commas: every row could be one number, and the line above names one column.
bool is_column_with_decimal_commas(const Head& head) {
  const auto has_comma = [](const HeadLine& line) { return line.raw.find(',') != std::string_view::npos; };
  const auto first = std::ranges::find_if(head.lines, [](const HeadLine& line) { return could_be_one_number(line.raw); });
  if (first == head.lines.begin() || first == head.lines.end()) return false;
  const auto& above = *std::prev(first);
  const auto count = std::distance(first, head.lines.end()) - (head.open_end ? 1 : 0);
  const std::span rows(first, static_cast<std::size_t>(count));
  return !trimmed(above.raw).empty() && !has_comma(above) && std::ranges::any_of(rows, has_comma) &&
         std::ranges::all_of(rows, [](const HeadLine& line) { return trimmed(line.raw).empty() || could_be_one_number(line.raw); });
}

Grid best_grid(const Head& head) {
  std::vector<std::string_view> sample;
  for (std::size_t i = head.lines.size(); i-- > 0 && sample.size() < 60;) {
    const auto& raw = head.lines[i].raw;
    const bool is_last_and_open = head.open_end && i + 1 == head.lines.size() && i > 0;
    if (!trimmed(raw).empty() && raw.front() != '#' && !is_last_and_open) sample.push_back(raw);
  }
  Grid best = grids.front();
  double best_score = -1;
  std::size_t best_cells = 0;
  for (const Grid& grid : grids) {
    const double found = score(sample, grid);
    const auto cells = cells_on_top(head, grid);
    const bool alike = std::abs(found - best_score) <= 1e-9 && grid.decimal == best.decimal && grid.delimiter != ' ' && single_column(sample, grid);
    // Blanks also cut names, "Probe 1 (V)", into words and numbers: they separate only where nothing else does nearly as well.
    const double bar = grid.delimiter == ' ' && best.delimiter != ' ' ? 1.5 * std::max(best_score, 0.0) : best_score;
    if (found > bar + 1e-9 || (alike && cells > best_cells))
      best = grid, best_score = found, best_cells = cells;
  }
  if (best.delimiter != ',' || !is_column_with_decimal_commas(head)) return best;
  return std::ranges::max(std::array{Grid{'\0', ','}, Grid{';', ','}, Grid{'\t', ','}}, {}, [&](const Grid& grid) { return cells_on_top(head, grid); });
}

bool is_blank(const HeadLine& line) {
  return std::all_of(line.cells.begin(), line.cells.end(), [](auto cell) { return cell.empty(); });
}

bool numeric_at(const HeadLine& line, std::size_t column) {
  return !line.comment && column < line.kinds.size() && is_numeric(line.kinds[column]);
}

/// A name before numbers: a line of metadata, or names among which are numbers.
bool begins_with_word(const HeadLine& line) { return !line.kinds.empty() && line.kinds.front() == CellKind::word; }

/// Words at the end, below rows that begin with a number: what was made of them.
bool ends_in_words_below_rows(const Head& head) {
  std::size_t rows = 0;
  bool words = false;
  for (std::size_t i = head.lines.size(); i-- > 0 && rows < 3;) {
    const HeadLine& line = head.lines[i];
    if (line.comment || is_blank(line)) continue;
    if (numeric_at(line, 0)) ++rows;
    else if (rows > 0 || !begins_with_word(line)) return false;
    else words = true;
  }
  return words && rows == 3;
}

/// First column that is a number in most of the last three rows, or else in the last one; the very first where it is one in the last.
bool find_key(Head& head) {
  if (ends_in_words_below_rows(head)) return head.key = 0, true;
  std::vector<const HeadLine*> last;
  for (std::size_t i = head.lines.size(); i-- > 0 && last.size() < 3;) {
    if (head.open_end && i + 1 == head.lines.size() && i > 1) continue;
    if (!head.lines[i].comment && !is_blank(head.lines[i])) last.push_back(&head.lines[i]);
  }
  if (!last.empty() && numeric_at(*last.front(), 0)) return head.key = 0, true;
  constexpr std::size_t columns = 64;
  for (std::size_t column = 0; column < columns && last.size() == 3; ++column)
    if (std::ranges::count_if(last, [&](auto line) { return numeric_at(*line, column); }) >= 2) return head.key = column, true;
  for (std::size_t column = 0; column < columns && !last.empty(); ++column)
    if (numeric_at(*last.front(), column)) return head.key = column, true;
  return false;
}

std::size_t end_of_run(const Head& head, std::size_t from) {
  std::size_t end = from;
  for (std::size_t i = from; i < head.lines.size(); ++i) {
    const HeadLine& line = head.lines[i];
    if (numeric_at(line, head.key)) end = i + 1;
    else if (!line.comment && !is_blank(line)) break;
  }
  return end;
}

std::size_t cells_in(const Head& head, std::size_t begin, std::size_t end) {
  std::size_t most = 0;
  for (std::size_t i = begin; i < end; ++i) {
    const auto& kinds = head.lines[i].kinds;
    most = std::max(most, static_cast<std::size_t>(std::count_if(kinds.begin(), kinds.end(), is_numeric)));
  }
  return most;
}

/// The first stretch of rows that is as wide as the last one; single rows of numbers above are metadata.
void find_run(Head& head) {
  struct Run {
    std::size_t begin, end;
  };
  std::vector<Run> runs;
  for (std::size_t i = 0; i < head.lines.size();) {
    const auto end = numeric_at(head.lines[i], head.key) ? end_of_run(head, i) : i;
    if (end > i && !(end == i + 1 && begins_with_word(head.lines[i]))) runs.push_back({i, end});
    i = std::max(end, i + 1);
  }
  if (runs.empty()) return;
  const auto width = cells_in(head, runs.back().begin, runs.back().end);
  Run chosen = runs.back();
  for (std::size_t r = runs.size() - 1; r-- > 0;)
    if (runs[r].end - runs[r].begin > 1 && cells_in(head, runs[r].begin, runs[r].end) >= width) chosen = runs[r];
  head.run_begin = chosen.begin;
  head.run_end = chosen.end;
}

}  // namespace

bool is_comment(std::string_view line, char delimiter) {
  const auto at = line.find_first_not_of(" \t");
  if (at == std::string_view::npos) return false;
  line.remove_prefix(at);
  if (line.starts_with(",#") || line.starts_with('#') || line.starts_with('%') || line.starts_with("//")) return true;
  return line.starts_with(';') && delimiter != ';';
}

std::string_view without_mark(std::string_view line) {
  const auto at = line.find_first_not_of(" \t,#%;/");
  return at == std::string_view::npos ? std::string_view() : line.substr(at);
}

Head read_head(std::string_view beginning, std::size_t text_bytes) {
  Head head;
  cut_into_lines(beginning, text_bytes, head);
  head.grid = best_grid(head);
  for (HeadLine& line : head.lines) {
    line.comment = is_comment(line.raw, head.grid.delimiter);
    line.cells = split(line.comment ? without_mark(line.raw) : line.raw, head.grid);
    if (line.comment) continue;
    for (const auto cell : line.cells) line.kinds.push_back(kind_of(cell, head.grid.decimal));
  }
  if (find_key(head)) find_run(head);
  return head;
}

}  // namespace pulsewright::importers::text
