#include "importers/text/block.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "importers/excerpt.hpp"
#include "importers/text/head.hpp"
#include "importers/text/unit.hpp"

namespace pulsewright::importers::text {

namespace {

constexpr std::size_t readable_behind = 40;  ///< bytes that the quick forms may look at behind a cell

const char* skip_blanks(const char* p, const char* end) {
  while (p < end && *p == ' ') ++p;
  return p;
}

double scaled(double value, double scale) {
  if (scale == 1) return value;
  return scale < 1 && scale >= 1e-15 && std::round(1 / scale) * scale == 1 ? value / std::round(1 / scale) : value * scale;
}

std::string what(const Column& column) {
  if (column.role == Role::time || column.role == Role::companion_time) return "a time";
  if (column.role == Role::logic) return "a logic level";
  return column.unit == "V" ? "a voltage" : "a number";
}

}  // namespace

BlockReader::BlockReader(std::string_view text, const Layout& layout) : text_(text), layout_(layout) {
  std::size_t at = 0, values_count = 0, logic_count = 0;
  const auto line = text.substr(layout.data_begin, text.find('\n', layout.data_begin) - layout.data_begin);
  const auto cells = split(line, layout.grid);
  for (const Column& column : layout.columns) {
    if (column.role == Role::ignore) continue;
    Step step{&column, column.index - at, 0, {}};
    at = column.index;
    if (column.role == Role::value) step.slot = values_count++;
    if (column.role == Role::logic) step.slot = logic_count++;
    if (column.index < cells.size() && layout.grid.decimal == '.')
      step.form = ScientificForm(cells[column.index].data(), cells[column.index].data() + cells[column.index].size());
    steps_.push_back(step);
  }
  values.resize(values_count);
  events.resize(logic_count);
  row_values_.resize(values_count);
  row_bits_.resize(logic_count);
  prepare_even_rows();
}

void BlockReader::read(std::size_t begin, std::size_t end) {
  rows = empty_rows = unknown_states = text_lines = 0;
  const std::size_t most_rows = (end - begin) / (2 * steps_.size()) + 2;
  for (auto& column : values)
    if (column.size() < most_rows) column.resize(most_rows);
  for (auto& column : events) column.clear();
  times.clear();
  error.reset();
  not_bits.reset();
  cut_row = false;
  companion_shift_max_s = 0;
  breaks.clear();
  last_bits_.assign(events.size(), -1);
  const char* const stop = text_.data() + end;
  for (const char* p = text_.data() + begin; p < stop && !error && !not_bits;) {
    if (has_even_form_) p = even_rows(p, stop);
    if (p >= stop) break;
    if (const char* next = quick_row(p, stop)) {
      keep_row();
      p = next;
      continue;
    }
    const auto* found = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(stop - p)));
    const char* const line_end = found != nullptr ? found : stop;
    slow_row({p, static_cast<std::size_t>(line_end - p)}, static_cast<std::size_t>(p - text_.data()), found == nullptr && end == text_.size());
    p = line_end + (found != nullptr);
  }
}

void BlockReader::keep_row() {
  for (std::size_t c = 0; c < values.size(); ++c) values[c][rows] = row_values_[c];
  for (std::size_t c = 0; c < events.size(); ++c) {
    if (row_bits_[c] == last_bits_[c] || row_bits_[c] < 0) continue;
    last_bits_[c] = row_bits_[c];
    events[c].push_back({rows, row_time_, row_bits_[c] == 1});
  }
  if (layout_.time != TimeKind::none) times.push_back({1, row_time_, row_time_});
  companion_shift_max_s = std::max(companion_shift_max_s, std::abs(row_shift_));
  ++rows;
}

/// The row at `p` when every cell is plainly what it should be; where the next line starts, or null.
const char* BlockReader::quick_row(const char* p, const char* end) {
  const char delimiter = layout_.grid.delimiter;
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
      case Role::companion_time: p = quick_time(step, p, end); break;
      case Role::value: p = quick_value(step, p, end); break;
      default: p = quick_bit(step, p, end);
    }
    if (p == nullptr || p >= end) return nullptr;
    if (*p == ' ') p = skip_blanks(p, end);
    if (p >= end || (*p != delimiter && *p != '\r' && *p != '\n')) return nullptr;
  }
  while (p < end && *p == '\r') ++p;
  if (p < end && *p == '\n') return p + 1;
  const auto* found = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
  return found != nullptr ? found + 1 : nullptr;
}

const char* BlockReader::quick_time(const Step& step, const char* p, const char* end) {
  if (layout_.time != TimeKind::number) return nullptr;
  double value = 0;
  const char* next = nullptr;
  if (step.form.usable() && static_cast<std::size_t>(text_.data() + text_.size() - p) > readable_behind) next = step.form.read(p, value);
  if (next == nullptr) next = read_plain(p, end, layout_.grid.decimal, value);
  if (next == nullptr) return nullptr;
  value = scaled(value, layout_.time_scale);
  if (step.column->role == Role::time) row_time_ = value;
  else row_shift_ = value - row_time_;
  return next;
}

const char* BlockReader::quick_value(const Step& step, const char* p, const char* end) {
  const double scale = step.column->scale;
  if (step.form.usable() && static_cast<std::size_t>(text_.data() + text_.size() - p) > readable_behind) {
    double value = 0;
    if (const char* next = step.form.read(p, value)) {
      if (scale != 1) value = scaled(value, scale);
      if (rounds_safely(value) || scale != 1) {
        row_values_[step.slot] = static_cast<float>(value);
        return next;
      }
    }
  }
  if (scale == 1) return read_plain(p, end, layout_.grid.decimal, row_values_[step.slot]);
  double value = 0;
  const char* next = read_plain(p, end, layout_.grid.decimal, value);
  row_values_[step.slot] = static_cast<float>(scaled(value, scale));
  return next;
}

const char* BlockReader::quick_bit(const Step& step, const char* p, const char* end) {
  if (step.column->low != 0 || step.column->high != 1 || p >= end || (*p != '0' && *p != '1')) return nullptr;
  row_bits_[step.slot] = *p - '0';
  return p + 1;
}

void BlockReader::fail(std::size_t offset, const Step& step, std::string_view cell) {
  error = CellError{offset, step.column->index + 1, what(*step.column), cell.empty() ? "nothing" : quoted(cell)};
}

bool BlockReader::slow_time(const Step& step, std::string_view cell) {
  double value = 0;
  if (layout_.time == TimeKind::number) {
    const auto number = number_in(cell, layout_.grid.decimal);
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
  if (kind == CellKind::empty || kind == CellKind::unknown) {
    ++unknown_states;
    return true;
  }
  if (kind != CellKind::number) return false;
  const double value = *number_in(cell, layout_.grid.decimal);
  if (value == step.column->low || value == step.column->high) row_bits_[step.slot] = value == step.column->high;
  else not_bits = step.column->index;
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

/// Whether the last line, which has no line end, ends inside its last cell: fewer cells or fewer digits than the line before.
bool BlockReader::looks_cut(std::string_view line, const std::vector<std::string_view>& cells) const {
  if (cells.size() <= steps_.back().column->index) return true;
  const auto start = static_cast<std::size_t>(line.data() - text_.data());
  if (start < 2) return false;
  const auto before_at = text_.rfind('\n', start - 2);
  const auto before_begin = before_at == std::string_view::npos ? 0 : before_at + 1;
  const auto before = split(text_.substr(before_begin, start - 1 - before_begin), layout_.grid);
  if (before.size() <= steps_.back().column->index) return false;
  const auto mine = cells.back(), other = before.back();
  if (before.size() > cells.size()) return true;
  const auto decimals = [&](std::string_view cell) {
    const auto point = cell.find(layout_.grid.decimal);
    return point == std::string_view::npos ? std::size_t{0} : cell.size() - point;
  };
  return decimals(mine) < decimals(other) || !number_in(mine, layout_.grid.decimal).has_value();
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
      const auto number = number_in(cell, layout_.grid.decimal);
      good = number.has_value();
      float exact = 0;
      const bool plain_number = read_plain(cell.data(), cell.data() + cell.size(), layout_.grid.decimal, exact) == cell.data() + cell.size();
      if (good) row_values_[step.slot] = plain_number && step.column->scale == 1 ? exact : static_cast<float>(scaled(*number, step.column->scale));
    } else if (step.column->role == Role::logic) {
      good = slow_bit(step, cell);
    } else {
      good = slow_time(step, cell);
    }
    if (!good) {
      fail(offset, step, cell);
      return false;
    }
  }
  if (!has_hole) return true;
  ++empty_rows;
  breaks.push_back(rows);
  return false;
}

void BlockReader::slow_row(std::string_view line, std::size_t offset, bool last_and_open) {
  if (is_comment(line, layout_.grid.delimiter)) return;
  const auto cells = split(line, layout_.grid);
  if (std::all_of(cells.begin(), cells.end(), [](auto cell) { return cell.empty(); })) return;
  if (last_and_open && offset > layout_.data_begin && looks_cut(line, cells)) {
    cut_row = true;
    return;
  }
  if (is_between_records(cells)) {
    ++text_lines;
    breaks.push_back(rows);
    return;
  }
  if (slow_cells(cells, offset)) keep_row();
}

}  // namespace pulsewright::importers::text
