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

std::string what(const Column& column) {
  if (is_time(column.role)) return "a time";
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

BlockReader::BlockReader(const Layout& layout) : layout_(layout), times_(layout.time_scale, layout.grid.decimal) {
  std::size_t at = 0;
  for (const Column& column : layout.columns) {
    if (column.role == Role::ignore) continue;
    Step step{&column, column.index - at, Scale(is_time(column.role) ? layout.time_scale : column.scale)};
    at = column.index;
    const ValueForm form = value_form(layout.first_rows, column.index, layout.grid);
    if (form.notation() == ValueNotation::longer || (column.role == Role::value && column.scale == 1 && !column.units_in_cells)) step.form = form;
    if (column.role == Role::value) step.slot = value_columns_++;
    if (column.role == Role::logic) step.slot = logic_columns_++;
    steps_.push_back(step);
  }
  row_bits_.resize(logic_columns_);
  prepare_quick_rows();
  learn_gaps();
  prepare_special_rows();
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
  times_.begin_block(readable_begin_, result.times);
  constexpr std::size_t most_quick_rows = 1024;
  std::size_t quick_rows_at_once = 1;  // more where the special forms are tried in vain
  for (const char* p = begin_; p < end_ && !result.error && !result.not_bits;) {
    if (!slowly_) {
      const char* const special_from = p;
      if (has_even_form_ && p < quick_end_) p = even_rows(p);
      if (has_logic_form_ && p < quick_end_) p = logic_rows(p);
      quick_rows_at_once = p != special_from ? 1 : std::min(2 * quick_rows_at_once, most_quick_rows);
      const char* const quick_from = p;
      p = quick_rows(p, quick_rows_at_once);
      if (p != quick_from || p >= end_) continue;
    }
    const auto* found = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end_ - p)));
    const char* const line_end = found != nullptr ? found : end_;
    slow_row({p, static_cast<std::size_t>(line_end - p)}, found == nullptr && ends_text);
    p = line_end + (found != nullptr);
  }
  times_.close();
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

void BlockReader::keep_time() {
  if (layout_.time == TimeKind::none) return;
  if (value_columns_ == 0) out_->single_times.push_back(row_time_);
  else times_.add_alone(row_time_);
}

void BlockReader::keep_row() {
  for (std::size_t c = 0; c < logic_columns_; ++c) {
    if (row_bits_[c] == last_bits_[c] || row_bits_[c] < 0) continue;
    last_bits_[c] = row_bits_[c];
    out_->events[c].push_back({out_->rows, row_time_, row_bits_[c] == 1});
  }
  if (std::abs(row_shift_) > out_->companion_shift_max_s) out_->companion_shift_max_s = std::abs(row_shift_), out_->companion_shift_row = out_->rows;
  ++out_->rows;
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
    value = step.scale(*number);
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
      float& value = out_->values[step.slot][out_->rows];
      if (good) value = plain_number && step.column->scale == 1 ? exact : static_cast<float>(step.scale(*number));
      good = good && std::abs(value) < no_value;
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
  if (slow_cells(cells, offset)) keep_time(), keep_row();
  if (out_->not_bits) out_->not_bits->offset = offset;
}

}  // namespace pulsewright::importers::text
