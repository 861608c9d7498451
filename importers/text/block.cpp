#include "importers/text/block.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "importers/excerpt.hpp"
#include "importers/text/head.hpp"
#include "importers/text/unit.hpp"

namespace pulsewright::importers::text {

namespace {

/// 9.9E37 stands for infinity and 9.91E37 for no number in the answers of instruments (SCPI-1999, volume 1, 7.2.1; from memory).
constexpr float no_value = 9.89e37f;

const char* skip_blanks(const char* p, const char* end) {
  while (p < end && *p == ' ') ++p;
  return p;
}

std::string what(const Column& column) {
  if (column.role == Role::time || column.role == Role::companion_time) return "a time";
  if (column.role == Role::logic) return "a logic level";
  return column.unit == "V" ? "a voltage" : "a number";
}

/// Digits behind the decimal point, and an exponent; nothing where a cell has no point and could go on.
std::optional<std::size_t> decimals_of(std::string_view cell, char decimal) {
  const auto point = cell.find(decimal);
  return point == std::string_view::npos ? std::nullopt : std::optional(cell.size() - point - 1);
}

/// How many decimals end the cells of a column in the first rows and in the last full one, where these are several and agree.
std::optional<std::size_t> usual_decimals(const Layout& layout, std::size_t column) {
  constexpr std::size_t several = 8;
  std::optional<std::size_t> usual;
  std::size_t rows_seen = 0;
  const std::string rows = layout.first_rows + '\n' + layout.last_row;
  for (std::size_t at = 0; at < rows.size();) {
    const auto end = std::min(rows.find('\n', at), rows.size());
    auto row = std::string_view(rows).substr(at, end - at);
    at = end + 1;
    while (row.ends_with('\r')) row.remove_suffix(1);
    const auto cells = split(row, layout.grid);
    if (cells.size() <= column) continue;
    const auto decimals = decimals_of(cells[column], layout.grid.decimal);
    if (!decimals || (usual && *usual != *decimals)) return {};
    usual = decimals;
    ++rows_seen;
  }
  return rows_seen >= several ? usual : std::nullopt;
}

}  // namespace

void BlockRows::clear(std::size_t value_columns, std::size_t logic_columns, std::size_t most_rows) {
  rows = empty_rows = unknown_states = text_lines = 0;
  values.resize(value_columns);
  for (auto& column : values)
    if (column.size() < most_rows) column.resize(most_rows);
  events.resize(logic_columns);
  for (auto& column : events) column.clear();
  times.clear();
  single_times.clear();
  breaks.clear();
  word_breaks.clear();
  companion_shift_max_s = 0;
  companion_shift_row = 0;
  error.reset();
  not_bits.reset();
  cut_row = false;
}

BlockReader::BlockReader(const Layout& layout) : layout_(layout) {
  std::size_t at = 0;
  for (const Column& column : layout.columns) {
    if (column.role == Role::ignore) continue;
    Step step{&column, column.index - at, 0, {}};
    at = column.index;
    if (column.role == Role::value) {
      step.slot = value_columns_++;
      if (column.scale == 1) step.form = value_form(layout.first_rows, column.index, layout.grid.delimiter, layout.grid.decimal);
    }
    if (column.role == Role::logic) step.slot = logic_columns_++;
    steps_.push_back(step);
  }
  row_values_.resize(value_columns_);
  row_bits_.resize(logic_columns_);
  prepare_line_end();
  prepare_even_rows();
  prepare_logic_rows();
}

void BlockReader::read(const Block& block, std::size_t offset, bool ends_text, BlockRows& result) {
  result.clear(value_columns_, logic_columns_, block.bytes.size() / (2 * steps_.size()) + 2);
  out_ = &result;
  begin_ = block.bytes.data();
  end_ = begin_ + block.bytes.size();
  readable_begin_ = block.readable_begin;
  quick_end_ = block.readable_end - begin_ > static_cast<std::ptrdiff_t>(wanted_behind()) ? std::min(end_, block.readable_end - wanted_behind()) : begin_;
  offset_ = offset;
  last_bits_.assign(logic_columns_, -1);
  for (const char* p = begin_; p < end_ && !result.error && !result.not_bits;) {
    if (has_even_form_ && p < quick_end_ && !slowly_) p = even_rows(p);
    if (has_logic_form_ && p < quick_end_ && !slowly_) p = logic_rows(p);
    if (p >= end_) break;
    if (const char* next = slowly_ ? nullptr : quick_row(p)) {
      keep_row();
      p = next;
      continue;
    }
    const auto* found = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end_ - p)));
    const char* const line_end = found != nullptr ? found : end_;
    slow_row({p, static_cast<std::size_t>(line_end - p)}, found == nullptr && ends_text);
    p = line_end + (found != nullptr);
  }
  if (slowly_ || !has_no_value()) return;
  slowly_ = true;
  read(block, offset, ends_text, result);
  slowly_ = false;
}

bool BlockReader::has_no_value() const {
  int any = 0;  // no early end, so that the compiler uses vector instructions
  for (const Samples& column : out_->values)
    for (std::size_t row = 0; row < out_->rows; ++row) any |= std::abs(column[row]) < no_value ? 0 : 1;
  return any != 0;
}

void BlockReader::keep_row() {
  for (std::size_t c = 0; c < value_columns_; ++c) out_->values[c][out_->rows] = row_values_[c];
  for (std::size_t c = 0; c < logic_columns_; ++c) {
    if (row_bits_[c] == last_bits_[c] || row_bits_[c] < 0) continue;
    last_bits_[c] = row_bits_[c];
    out_->events[c].push_back({out_->rows, row_time_, row_bits_[c] == 1});
  }
  if (layout_.time != TimeKind::none && value_columns_ == 0) out_->single_times.push_back(row_time_);
  else if (layout_.time != TimeKind::none) out_->times.push_back({1, row_time_, row_time_});
  if (std::abs(row_shift_) > out_->companion_shift_max_s) out_->companion_shift_max_s = std::abs(row_shift_), out_->companion_shift_row = out_->rows;
  ++out_->rows;
}

/// The row at `p` when every cell is plainly what it should be; where the next line starts, or null.
const char* BlockReader::quick_row(const char* p) {
  const char delimiter = layout_.grid.delimiter;
  const char* const end = end_;
  if (delimiter == ' ') return nullptr;
  for (const Step& step : steps_) {
    for (std::size_t n = 0; n < step.skip; ++n) {
      while (p < end && *p != delimiter && *p != '\n' && *p != '"') ++p;
      if (p >= end || *p != delimiter) return nullptr;
      ++p;
    }
    if (p < end && *p == ' ') p = skip_blanks(p, end);
    switch (step.column->role) {
      case Role::time:
      case Role::companion_time: p = quick_time(step, p); break;
      case Role::value: p = quick_value(step, p); break;
      default: p = quick_bit(step, p);
    }
    if (p == nullptr || p >= end) return nullptr;
    if (*p == ' ') p = skip_blanks(p, end);
    if (p >= end || (*p != delimiter && *p != '\r' && *p != '\n')) return nullptr;
  }
  while (p < end && *p == '\r') ++p;
  if (p < end && *p == '\n') return p + 1;
  const auto* found = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
  return found != nullptr && ends_as_usual(p, found) ? found + 1 : nullptr;
}

/// Nothing stands behind the cells that rows have; `p` is behind the last one that is used.
bool BlockReader::ends_as_usual(const char* p, const char* line_end) const {
  const char delimiter = layout_.grid.delimiter;
  while (line_end > p && (line_end[-1] == delimiter || line_end[-1] == ' ' || line_end[-1] == '\r')) --line_end;
  return steps_.back().column->index + static_cast<std::size_t>(std::count(p, line_end, delimiter)) < layout_.row_cells;
}

template <class Number>
const char* BlockReader::number_at(const char* p, Number& value) const {
  return p < quick_end_ ? take_any_value(p, end_, layout_.grid.decimal, value) : read_plain(p, end_, layout_.grid.decimal, value);
}

const char* BlockReader::quick_time(const Step& step, const char* p) {
  if (layout_.time != TimeKind::number || step.column->units_in_cells) return nullptr;
  double value = 0;
  const char* const next = number_at(p, value);
  if (next == nullptr) return nullptr;
  value = scaled(value, layout_.time_scale);
  if (step.column->role == Role::time) row_time_ = value;
  else row_shift_ = value - row_time_;
  return next;
}

const char* BlockReader::quick_value(const Step& step, const char* p) {
  if (step.column->units_in_cells) return nullptr;
  if (step.column->scale == 1) return number_at(p, row_values_[step.slot]);
  double value = 0;
  const char* const next = number_at(p, value);
  row_values_[step.slot] = static_cast<float>(scaled(value, step.column->scale));
  return std::isfinite(row_values_[step.slot]) ? next : nullptr;  // beyond the range of a float: told by the slow way
}

const char* BlockReader::quick_bit(const Step& step, const char* p) {
  if (p >= end_) return nullptr;
  if (step.column->low == 0 && step.column->high == 1) {
    row_bits_[step.slot] = *p - '0';
    return *p == '0' || *p == '1' ? p + 1 : nullptr;
  }
  double value = 0;
  const char* const next = number_at(p, value);
  row_bits_[step.slot] = value == step.column->high;
  return value == step.column->low || value == step.column->high ? next : nullptr;
}

void BlockReader::fail(std::size_t offset, std::size_t column, const std::string& expected, std::string_view cell) {
  out_->error = CellError{offset, column + 1, expected, cell.empty() ? "nothing" : quoted(cell)};
}

/// The number in a cell that has a unit behind it where the others of its column have one, and else none.
std::optional<double> BlockReader::number_of(const Column& column, std::string_view cell) const {
  const auto number = number_in(cell, layout_.grid.decimal);
  if (!number || *number == 0) return number;
  const bool has_unit = !unit_behind_number(cell, layout_.grid.decimal).empty();
  return has_unit == column.units_in_cells ? number : std::nullopt;
}

bool BlockReader::slow_time(const Step& step, std::string_view cell) {
  double value = 0;
  if (layout_.time == TimeKind::number) {
    const auto number = number_of(*step.column, cell);
    if (!number) return false;
    value = scaled(*number, layout_.time_scale);
  } else {
    const auto instant = layout_.time == TimeKind::stamp ? stamp_in(cell) : instant_in(cell, layout_.grid.decimal);
    if (!instant) return false;
    value = *instant - layout_.origin;
  }
  if (step.column->role == Role::time) row_time_ = value;
  else row_shift_ = value - row_time_;
  return true;
}

bool BlockReader::slow_bit(const Step& step, std::string_view cell) {
  const auto kind = kind_of(cell, layout_.grid.decimal);
  row_bits_[step.slot] = last_bits_[step.slot];
  if (kind == CellKind::empty || kind == CellKind::unknown || kind == CellKind::missing) {
    ++out_->unknown_states;
    return true;
  }
  if (kind != CellKind::number) return false;
  const double value = *number_in(cell, layout_.grid.decimal);
  if (value == step.column->low || value == step.column->high) row_bits_[step.slot] = value == step.column->high;
  else out_->not_bits = BitError{0, step.column->index, quoted(cell)};
  return true;
}

/// A line of words only, between two segments.
bool BlockReader::is_between_records(const std::vector<std::string_view>& cells) const {
  std::size_t numbers = 0;
  for (const Step& step : steps_) {
    if (step.column->index >= cells.size()) continue;
    const auto kind = kind_of(cells[step.column->index], layout_.grid.decimal);
    numbers += kind == CellKind::number || kind == CellKind::stamp;
  }
  const bool first_is_word = steps_.front().column->index < cells.size() &&
                             kind_of(cells[steps_.front().column->index], layout_.grid.decimal) == CellKind::word;
  return first_is_word && steps_.front().column->role == Role::time && 2 * numbers < steps_.size();
}

/// Numbers where rows have them: in a comment, a row that was taken out.
bool BlockReader::is_row(const std::vector<std::string_view>& cells) const {
  return std::all_of(steps_.begin(), steps_.end(), [&](const Step& step) {
    return step.column->index < cells.size() && number_in(cells[step.column->index], layout_.grid.decimal);
  });
}

/// Names and units between the rows have to be those above the first record.
void BlockReader::refuse_other_columns(const std::vector<std::string_view>& cells, std::size_t offset) {
  for (const Step& step : steps_) {
    const Column& column = *step.column;
    if (column.index >= cells.size()) return;
    const auto alone = unit_of(cells[column.index]);
    const auto title = split_name(cells[column.index]);
    const auto unit = alone ? alone : title.unit;
    if (!unit || (unit->quantity != Quantity::time && unit->quantity != Quantity::voltage) || column.units_in_cells) continue;
    const double scale = column.role == Role::time ? layout_.time_scale : column.scale;
    if (unit->scale != scale || (!alone && title.name != column.name)) return fail(offset, column.index, "the names and units of the first record", cells[column.index]);
  }
}

/// Whether the last line, which has no line end, may end inside a cell: its last one is complete where it is a logic level, or
/// where each row before has as many decimals, so that a missing one would show.
bool BlockReader::looks_cut(const std::vector<std::string_view>& cells) const {
  const Column& last = *steps_.back().column;
  if (cells.size() != last.index + 1) return cells.size() <= last.index;
  const auto cell = cells[last.index];
  if (last.role == Role::logic) return cell.empty();
  const auto usual = usual_decimals(layout_, last.index);
  return !usual || decimals_of(cell, layout_.grid.decimal) != usual || !number_in(cell, layout_.grid.decimal);
}

bool BlockReader::slow_cells(const std::vector<std::string_view>& cells, std::size_t offset) {
  const auto cell_of = [&](const Step& step) { return step.column->index < cells.size() ? cells[step.column->index] : std::string_view(); };
  const auto fits = [&](const Step& step) { return step.column->role == Role::value; };
  const bool has_hole = std::any_of(steps_.begin(), steps_.end(), [&](const Step& step) {
    const auto kind = kind_of(cell_of(step), layout_.grid.decimal);
    return fits(step) && (kind == CellKind::empty || kind == CellKind::missing);
  });
  for (const Step& step : steps_) {
    const auto cell = cell_of(step);
    bool good = true;
    if (fits(step)) {
      if (has_hole) continue;
      const auto number = number_of(*step.column, cell);
      good = number.has_value();
      float exact = 0;
      const bool plain_number = read_plain(cell.data(), cell.data() + cell.size(), layout_.grid.decimal, exact) == cell.data() + cell.size();
      if (good) row_values_[step.slot] = plain_number && step.column->scale == 1 ? exact : static_cast<float>(scaled(*number, step.column->scale));
      good = good && std::abs(row_values_[step.slot]) < no_value;
    } else if (step.column->role == Role::logic) {
      good = slow_bit(step, cell);
    } else {
      good = slow_time(step, cell);
    }
    if (!good) {
      fail(offset, step.column->index, what(*step.column), cell);
      return false;
    }
  }
  if (const auto more = layout_.row_cells; more < cells.size() && kind_of(cells[more], layout_.grid.decimal) == CellKind::number) {
    fail(offset, more, "the end of the row", cells[more]);
    return false;
  }
  if (!has_hole) return true;
  ++out_->empty_rows;
  out_->breaks.push_back(out_->rows);
  return false;
}

void BlockReader::slow_row(std::string_view line, bool last_and_open) {
  if (is_comment(line, layout_.grid.delimiter)) {
    if (is_row(split(without_mark(line), layout_.grid))) ++out_->empty_rows, out_->breaks.push_back(out_->rows);
    return;
  }
  const std::size_t offset = offset_ + static_cast<std::size_t>(line.data() - begin_);
  const auto cells = split(line, layout_.grid);
  if (std::all_of(cells.begin(), cells.end(), [](auto cell) { return cell.empty(); })) {
    // Separators alone: without times, a sample is missing here.
    if (layout_.time == TimeKind::none && cells.size() > 1) ++out_->empty_rows, out_->breaks.push_back(out_->rows);
    return;
  }
  constexpr std::size_t longest_cut_row = std::size_t{4} << 10;
  if (last_and_open && line.size() <= longest_cut_row && offset > layout_.data_begin && looks_cut(cells)) {
    out_->cut_row = true;
    return;
  }
  if (is_between_records(cells)) {
    ++out_->text_lines;
    (layout_.time == TimeKind::none ? out_->breaks : out_->word_breaks).push_back(out_->rows);
    refuse_other_columns(cells, offset);
    return;
  }
  if (slow_cells(cells, offset)) keep_row();
  if (out_->not_bits) out_->not_bits->offset = offset;
}

}  // namespace pulsewright::importers::text
