// The common forms, fast: a time that is verified against its predicted text, if there is one, and values as plain
// numbers, decoded eight bytes at a time. Stops at the first row of another form.

#include <algorithm>

#include "importers/text/block.hpp"

namespace pulsewright::importers::text {

namespace {

/// What stands between the last value and the next line: a line end, perhaps separators before it.
std::string_view behind_last_value(std::string_view rows, std::size_t last_column, char delimiter) {
  auto line = rows.substr(0, std::min(rows.find('\n'), rows.size() - 1) + 1);
  for (std::size_t n = 0; n < last_column; ++n) {
    const auto at = line.find(delimiter);
    if (at == std::string_view::npos) return {};
    line.remove_prefix(at + 1);
  }
  return line.substr(std::min(line.find_first_of(std::string{delimiter, '\r', '\n'}), line.size()));
}

}  // namespace

void BlockReader::prepare_line_end() {
  if (layout_.first_rows.empty() || steps_.empty()) return;
  const auto behind = behind_last_value(layout_.first_rows, steps_.back().column->index, layout_.grid.delimiter);
  if (!behind.ends_with('\n') || behind.size() > 7) return;
  std::memcpy(&line_end_, behind.data(), behind.size());
  line_end_mask_ = (std::uint64_t{1} << (8 * behind.size())) - 1;
  line_end_length_ = static_cast<std::ptrdiff_t>(behind.size());
}

void BlockReader::prepare_logic_rows() {
  if (line_end_length_ == 0 || layout_.time != TimeKind::number || layout_.grid.delimiter == ' ' || logic_columns_ == 0) return;
  for (std::size_t i = 0; i < steps_.size(); ++i) {
    const Column& column = *steps_[i].column;
    const bool bit = column.role == Role::logic && column.low == 0 && column.high == 1;
    if (steps_[i].skip != (i == 0 ? 0u : 1u) || !(i == 0 ? column.role == Role::time : bit)) return;
  }
  has_logic_form_ = true;
}

void BlockReader::prepare_even_rows() {
  const bool timed = layout_.time == TimeKind::number;
  if (!(timed || layout_.time == TimeKind::none) || layout_.grid.delimiter == ' ' || logic_columns_ > 0 || value_columns_ == 0 || line_end_length_ == 0) return;
  if (timed && steps_.front().column->role != Role::time) return;
  for (std::size_t i = 0; i < steps_.size(); ++i) {
    const Step& step = steps_[i];
    if (step.skip != (i == 0 ? 0u : 1u)) return;
    if (i >= (timed ? 1u : 0u) && (step.column->role != Role::value || step.column->scale != 1)) return;
  }
  has_even_form_ = true;
}

/// Rows of a time and bits, whatever the steps. Stops at the first row of another form.
const char* BlockReader::logic_rows(const char* p) {
  const char delimiter = layout_.grid.delimiter;
  while (p < quick_end_) {
    Decimal time;
    const char* q = read_decimal(p, layout_.grid.decimal, time);
    if (q == nullptr || time.digits >= std::uint64_t{1} << 53 || time.power < -22 || time.power > 22) break;
    bool good = true;
    for (std::size_t c = 0; c < logic_columns_; ++c, q += 2) {
      good = good && q[0] == delimiter && (q[1] == '0' || q[1] == '1');
      row_bits_[c] = q[1] - '0';
    }
    if (!good || ((detail::load8(q) ^ line_end_) & line_end_mask_) != 0) break;
    const double value = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(time.digits)), time.power);
    row_time_ = scaled(time.negative ? -value : value, layout_.time_scale);
    keep_row();
    p = q + line_end_length_;
  }
  return p;
}

inline const char* BlockReader::even_value(const Step& step, const char* q, float& value, std::uint64_t& wrong) const {
  const ValueForm& form = step.form;
  if (form.notation() == ValueNotation::scientific) return form.take_scientific(q, value, wrong);
  if (form.notation() == ValueNotation::fixed) return form.take_fixed(q, layout_.grid.decimal, value, wrong);
  const char* const behind = take_any_value(q, end_, layout_.grid.decimal, value);
  wrong |= static_cast<std::uint64_t>(behind == nullptr);
  return behind == nullptr ? q : behind;
}

const char* BlockReader::even_rows(const char* p) {
  const bool timed = layout_.time == TimeKind::number;
  switch (value_columns_ == 1 ? steps_.back().form.notation() : ValueNotation::any) {
    case ValueNotation::scientific: return timed ? even_rows_as<true, ValueNotation::scientific>(p) : even_rows_as<false, ValueNotation::scientific>(p);
    case ValueNotation::fixed: return timed ? even_rows_as<true, ValueNotation::fixed>(p) : even_rows_as<false, ValueNotation::fixed>(p);
    default: return timed ? even_rows_as<true, ValueNotation::any>(p) : even_rows_as<false, ValueNotation::any>(p);
  }
}

/// `alone`: the notation of the only value; `any` also where there are several.
template <bool timed, ValueNotation alone>
const char* BlockReader::even_rows_as(const char* p) {
  RunningTimes times(layout_.time_scale, layout_.grid.decimal, layout_.grid.delimiter, readable_begin_, out_->times);
  const char delimiter = layout_.grid.delimiter, decimal = layout_.grid.decimal;
  const char* const stop = quick_end_;
  const Step* const steps = steps_.data();
  const std::size_t first = timed ? 1 : 0, columns = steps_.size();
  float* const values = out_->values[steps[first].slot].data();
  const ValueForm form = steps[first].form;
  const std::uint64_t line_end = line_end_, line_end_mask = line_end_mask_;
  const std::ptrdiff_t line_end_length = line_end_length_;
  std::uint64_t row = out_->rows, wrong = 0;
  // The values from `q` on; where the next row starts, nullptr where something else stands.
  const auto take_values = [&](const char* q) {
    if constexpr (alone == ValueNotation::scientific) q = form.take_scientific(q, values[row], wrong);
    else if constexpr (alone == ValueNotation::fixed) q = form.take_fixed(q, decimal, values[row], wrong);
    else q = even_value(steps[first], q, values[row], wrong);
    for (std::size_t i = first + 1; alone == ValueNotation::any && i < columns && wrong == 0; ++i) {
      wrong |= static_cast<std::uint64_t>(*q != delimiter);
      q = even_value(steps[i], q + 1, out_->values[steps[i].slot][row], wrong);
    }
    wrong |= (detail::load8(q) ^ line_end) & line_end_mask;
    return wrong == 0 ? q + line_end_length : nullptr;
  };
  const char* next = p;
  while (p < stop && next != nullptr) {
    const char* const after_time = timed ? times.take(p) : p;
    if (after_time == nullptr) break;
    next = take_values(after_time);
    if (timed && next == nullptr) times.drop_last();
    if (next == nullptr) break;
    p = next;
    ++row;
    if (!timed || !times.expected().known()) continue;
    TimeText expected = times.expected();
    const std::uint64_t told = row;
    while (p < stop && expected.matches(p)) {
      next = take_values(p + expected.length());
      if (next == nullptr) break;
      expected.advance();
      p = next;
      ++row;
    }
    times.took_expected(row - told);
    times.expected() = expected;
  }
  times.close();
  out_->rows = row;
  return p;
}

}  // namespace pulsewright::importers::text
