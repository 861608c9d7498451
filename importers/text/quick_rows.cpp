// Rows of any other form whose cells are plainly what they should be: blanks, quotes and units around numbers, columns
// that are not used, dates. Anything else is left to the slow way, which also finds the words for what is wrong.

#include <algorithm>
#include <cstring>

#include "importers/text/block.hpp"
#include "importers/text/unit.hpp"

namespace pulsewright::importers::text {

namespace {

bool ends_line(char c) { return c == '\n' || c == '\r'; }
bool is_blank(char c) { return c == ' ' || c == '\t'; }
/// A number may go on with it.
bool goes_on(char c) { return (c >= '0' && c <= '9') || c == 'e' || c == 'E'; }
/// Between blanks, such a word belongs to the cell before.
bool opens_unit(char c) { return c == '(' || c == '['; }

}  // namespace

void BlockReader::prepare_quick_rows() {
  const auto is = [&](Role role) { return std::any_of(steps_.begin(), steps_.end(), [&](const Step& step) { return step.column->role == role; }); };
  has_running_times_ = layout_.time == TimeKind::number && value_columns_ > 0 && logic_columns_ == 0 && !is(Role::companion_time) &&
                       std::none_of(steps_.begin(), steps_.end(), [](const Step& step) { return is_time(step.column->role) && step.column->units_in_cells; });
}

/// At most `most` rows from `p` on; where the next one starts.
const char* BlockReader::quick_rows(const char* p, std::size_t most) {
  for (; most > 0 && p < end_; --most) {
    time_is_kept_ = false;
    const char* const next = quick_row(p);
    if (next == nullptr) {
      if (time_is_kept_) times_.drop_last();
      break;
    }
    if (!time_is_kept_) keep_time();
    keep_row();
    p = next;
  }
  return p;
}

/// The row at `p`; where the next line starts, or null.
const char* BlockReader::quick_row(const char* p) {
  for (Step& step : steps_) {
    p = number_behind(step, p);
    if (p == nullptr) return nullptr;
    step.begin = p;
    if (is_time(step.column->role)) p = quick_time(step, p);
    else if (step.column->role == Role::value) p = quick_value(step, p);
    else p = quick_bit(step, p);
    if (p == nullptr) return nullptr;
    step.end = p;
  }
  return next_row(p);
}

/// From the start of the row, or from the end of the number before, to the number of `step`; null where that is not plain.
const char* BlockReader::number_behind(const Step& step, const char* p) {
  if (step.gap && p < quick_end_ && step.gap->differs(p) == 0) {
    in_quotes_ = step.gap_opens_quotes;
    return p + step.gap->length();
  }
  if (&step != steps_.data()) p = cell_end(p);
  else if (layout_.grid.delimiter == ' ') p = skip_blanks(p);
  if (p != nullptr) p = behind_cells(p, step.skip);
  if (p == nullptr) return nullptr;
  p = skip_blanks(p);
  in_quotes_ = p < end_ && *p == '"';
  return p + in_quotes_;
}

/// From the end of a number to what ends its cell.
const char* BlockReader::cell_end(const char* p) const {
  const char delimiter = layout_.grid.delimiter;
  if (in_quotes_ && (p >= end_ || *p++ != '"')) return nullptr;
  if (delimiter != ' ') p = skip_blanks(p);
  return p < end_ && (*p == delimiter || ends_line(*p) || (delimiter == ' ' && is_blank(*p))) ? p : nullptr;
}

/// From the end of the last number to the next line.
const char* BlockReader::next_row(const char* p) const {
  if (line_end_ && p < quick_end_ && line_end_->differs(p) == 0) return p + line_end_->length();
  p = cell_end(p);
  if (p == nullptr) return nullptr;
  const auto* found = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end_ - p)));
  return found != nullptr && ends_as_usual(p, found) ? found + 1 : nullptr;
}

/// Blanks part the cells, or stand around them.
const char* BlockReader::skip_blanks(const char* p) const {
  while (p < end_ && is_blank(*p) && (*p != '\t' || layout_.grid.delimiter != '\t')) ++p;
  return p;
}

/// From a cell or from what ends it to the cell `count` further; null where the row ends before, or where that is not plain.
const char* BlockReader::behind_cells(const char* p, std::size_t count) const {
  const char delimiter = layout_.grid.delimiter;
  for (; count > 0; --count) {
    if (delimiter == ' ') {
      while (p < end_ && !is_blank(*p) && !ends_line(*p)) ++p;
      p = skip_blanks(p);
      if (p >= end_ || ends_line(*p) || opens_unit(*p)) return nullptr;
      continue;
    }
    p = skip_blanks(p);
    if (p < end_ && *p == '"') {
      do ++p;
      while (p < end_ && *p != '"' && *p != '\n');
    }
    while (p < end_ && *p != delimiter && *p != '\n') ++p;
    if (p >= end_ || *p != delimiter) return nullptr;
    ++p;
  }
  return p;
}

/// Nothing stands behind the cells that rows have; `p` is behind the last one that is used.
bool BlockReader::ends_as_usual(const char* p, const char* line_end) const {
  const char delimiter = layout_.grid.delimiter;
  while (line_end > p && (line_end[-1] == delimiter || is_blank(line_end[-1]) || line_end[-1] == '\r')) --line_end;
  std::size_t more = 0;
  for (const char* before = p; p < line_end; before = p++) {
    if (*p == '\r' || (delimiter == ' ' && opens_unit(*p))) return false;
    more += delimiter == ' ' ? is_blank(*before) && !is_blank(*p) : *p == delimiter;
  }
  return steps_.back().column->index + more < layout_.row_cells;
}

/// The number at `p` and its unit; where that ends.
const char* BlockReader::number_with_unit(Step& step, const char* p, double& value) const {
  p = number_at(step, p, value);
  if (p == nullptr) return nullptr;
  const auto ends = [this](char c) { return c == layout_.grid.delimiter || c == '"' || ends_line(c); };
  if (step.unit && p < quick_end_ && step.unit->differs(p) == 0 && ends(p[step.unit->length()])) {
    value = step.unit_scale(value);
    return p + step.unit->length();
  }
  const char* end = p;
  while (end < end_ && !ends(*end)) ++end;
  const std::string_view unit(p, static_cast<std::size_t>(end - p));
  const auto scale = scale_of_suffix(unit);
  if (!scale || (trimmed(unit).empty() && value != 0)) return nullptr;
  step.unit_scale = Scale(*scale);
  step.unit = unit.size() <= Literal::longest ? std::optional<Literal>(unit) : std::nullopt;
  value = step.unit_scale(value);
  return end;
}

const char* BlockReader::quick_time(Step& step, const char* p) {
  double time_s = 0;
  if (layout_.time != TimeKind::number) {
    p = quick_instant(p, time_s);
  } else {
    if (has_running_times_ && p < quick_end_)
      if (const char* const end = times_.take_expected(p)) {
        time_is_kept_ = true;
        return end;
      }
    p = step.column->units_in_cells ? number_with_unit(step, p, time_s) : number_at(step, p, time_s);
    time_s = step.scale(time_s);
  }
  if (step.column->role == Role::time) row_time_ = time_s;
  else row_shift_ = time_s - row_time_;
  return p;
}

/// Date and time of day, or seconds far from zero; where the cell ends.
const char* BlockReader::quick_instant(const char* p, double& time_s) {
  if (layout_.grid.delimiter == ' ') return nullptr;
  Instant quick;
  const char* end = p < quick_end_ ? instant_form_.take(p, quick) : nullptr;
  if (end != nullptr && end < end_ && (*end == layout_.grid.delimiter || *end == '"' || ends_line(*end))) {
    time_s = quick - layout_.origin;
    return end;
  }
  end = p;
  while (end < end_ && *end != layout_.grid.delimiter && *end != '"' && !ends_line(*end)) ++end;
  const std::string_view cell(p, static_cast<std::size_t>(end - p));
  const bool is_stamp = layout_.time == TimeKind::stamp;
  const auto instant = is_stamp ? stamp_in(cell) : instant_in(cell, layout_.grid.decimal);
  if (!instant) return nullptr;
  instant_form_ = InstantForm(cell, is_stamp, layout_.grid.decimal);
  time_s = *instant - layout_.origin;
  return end;
}

const char* BlockReader::quick_value(Step& step, const char* p) {
  float& kept = out_->values[step.slot][out_->rows];
  if (p < quick_end_ && step.form.notation() < ValueNotation::longer) {
    std::uint64_t wrong = 0;
    const char* const behind = formed_value(step, p, kept, wrong);
    if (wrong == 0 && !goes_on(*behind)) return behind;
  }
  if (!step.column->units_in_cells) return value_at(step, p, kept);
  double value = 0;
  p = number_with_unit(step, p, value);
  kept = static_cast<float>(step.scale(value));
  return std::isfinite(kept) ? p : nullptr;
}

const char* BlockReader::quick_bit(const Step& step, const char* p) {
  if (p >= end_) return nullptr;
  if (step.column->low == 0 && step.column->high == 1) {
    row_bits_[step.slot] = *p - '0';
    return *p == '0' || *p == '1' ? p + 1 : nullptr;
  }
  double value = 0;
  const char* const next = number_at(step, p, value);
  row_bits_[step.slot] = value == step.column->high;
  return value == step.column->low || value == step.column->high ? next : nullptr;
}

}  // namespace pulsewright::importers::text
