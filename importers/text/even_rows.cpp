// The common forms, fast: a time that is verified against its predicted text, if there is one, and values as plain
// numbers, decoded eight bytes at a time. Stops at the first row of another form.

#include <algorithm>

#include "importers/text/block.hpp"

namespace pulsewright::importers::text {

/// Learns from the first row what stands between the numbers, where that is short.
void BlockReader::learn_gaps() {
  BlockRows row;
  row.clear(value_columns_, logic_columns_, 1);
  out_ = &row;
  begin_ = quick_end_ = layout_.first_rows.data();
  end_ = begin_ + layout_.first_rows.size();
  const char* const next = quick_row(begin_);
  out_ = nullptr;
  if (next == nullptr) return;
  const auto between = [](const char* from, const char* to) {
    const std::string_view text(from, static_cast<std::size_t>(to - from));
    return text.size() <= Literal::longest ? std::optional<Literal>(text) : std::nullopt;
  };
  const char* behind = begin_;
  for (Step& step : steps_) {
    step.gap = between(behind, step.begin);
    step.gap_opens_quotes = step.begin > behind && step.begin[-1] == '"';
    behind = step.end;
  }
  line_end_ = between(behind, next);
}

/// Which of the forms below rows can have.
void BlockReader::prepare_special_rows() {
  const bool timed = layout_.time == TimeKind::number;
  if (steps_.empty() || !(timed || layout_.time == TimeKind::none) || timed != (steps_.front().column->role == Role::time)) return;
  const auto are = [&](auto&& good) { return std::all_of(steps_.begin() + timed, steps_.end(), good); };
  const bool values = are([](const Step& step) { return step.column->role == Role::value && !step.column->units_in_cells; });
  const bool bits = are([](const Step& step) { return step.column->role == Role::logic && step.column->low == 0 && step.column->high == 1; });
  const bool gaps = line_end_ && std::all_of(steps_.begin(), steps_.end(), [](const Step& step) { return step.gap.has_value(); });
  if (steps_.size() == timed || (timed && steps_.front().column->units_in_cells) || !(values || bits) || !gaps) return;
  has_even_form_ = values;
  if (values && steps_.size() == timed + 1u && steps_.back().scale.is_one())
    four_rows_ = FourRows(steps_.back().form, layout_.grid.decimal, timed ? *steps_.front().gap : Literal(), *steps_.back().gap, *line_end_);
  has_logic_form_ = timed && bits;
}

/// Rows of a time and bits, whatever the steps. Stops at the first row of another form.
const char* BlockReader::logic_rows(const char* p) {
  const Step& time_step = steps_.front();
  const Literal before_row = *time_step.gap, line_end = *line_end_;
  while (p < quick_end_) {
    Decimal time;
    const char* q = read_decimal(p + before_row.length(), layout_.grid.decimal, time);
    if (q == nullptr || time.digits >= std::uint64_t{1} << 53 || time.power < -22 || time.power > 22) break;
    std::uint64_t wrong = before_row.differs(p);
    for (std::size_t c = 0; c < logic_columns_; ++c) {
      wrong |= steps_[c + 1].gap->differs(q);
      q += steps_[c + 1].gap->length();
      row_bits_[c] = *q++ - '0';
      wrong |= static_cast<std::uint64_t>(row_bits_[c] & ~1);
    }
    if ((wrong | line_end.differs(q)) != 0) break;
    const double value = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(time.digits)), time.power);
    row_time_ = time_step.scale(time.negative ? -value : value);
    keep_time();
    keep_row();
    p = q + line_end.length();
  }
  return p;
}

const char* BlockReader::even_rows(const char* p) {
  return layout_.time == TimeKind::number ? even_rows_of<true>(p) : even_rows_of<false>(p);
}

template <bool timed>
const char* BlockReader::even_rows_of(const char* p) {
  const Step& last = steps_.back();
  if (value_columns_ > 1 || !last.scale.is_one()) return even_rows_as<timed, ValueNotation::any, false>(p);
  switch (last.form.notation()) {
    case ValueNotation::scientific: return even_rows_as<timed, ValueNotation::scientific, true>(p);
    case ValueNotation::fixed: return even_rows_as<timed, ValueNotation::fixed, true>(p);
    case ValueNotation::longer: return even_rows_as<timed, ValueNotation::any, false>(p);
    default: return even_rows_as<timed, ValueNotation::any, true>(p);
  }
}

/// `alone`: there is one value, in this notation, and in the unit of its column.
template <bool timed, ValueNotation notation, bool alone>
const char* BlockReader::even_rows_as(const char* p) {
  const char decimal = layout_.grid.decimal;
  const char *const stop = quick_end_, *const end = end_;
  const Step* const steps = steps_.data();
  const std::size_t first = timed ? 1 : 0, columns = steps_.size();
  float* const values = out_->values[steps[first].slot].data();
  const ValueForm form = steps[first].form;
  const Literal before_row = timed ? *steps[0].gap : Literal(), before_value = *steps[first].gap, line_end = *line_end_;
  std::uint64_t row = out_->rows, wrong = 0;
  // The values behind `q`; where the next row starts, nullptr where something else stands.
  const auto take_values = [&](const char* q) {
    wrong = before_value.differs(q);
    q += before_value.length();
    if constexpr (notation == ValueNotation::scientific) q = form.take_scientific(q, values[row], wrong);
    else if constexpr (notation == ValueNotation::fixed) q = form.take_fixed(q, decimal, values[row], wrong);
    else if constexpr (alone) q = take_any_value(q, end, decimal, values[row]);
    else q = formed_value(steps[first], q, values[row], wrong);
    if (alone && notation == ValueNotation::any && q == nullptr) return q;
    for (std::size_t i = first + 1; !alone && i < columns && wrong == 0; ++i) {
      wrong |= steps[i].gap->differs(q);
      q = formed_value(steps[i], q + steps[i].gap->length(), out_->values[steps[i].slot][row], wrong);
    }
    wrong |= line_end.differs(q);
    return wrong == 0 ? q + line_end.length() : nullptr;
  };
  const bool by_fours = alone && four_rows_.usable();
  std::uint64_t single_rows = 1;  // before four at once are tried again; more where they are tried in vain
  const char* next = p;
  while (p < stop && next != nullptr) {
    const char* const time_end = timed ? times_.take(p + before_row.length()) : p;
    if (time_end == nullptr) break;
    next = before_row.differs(p) == 0 ? take_values(time_end) : nullptr;
    if (timed && next == nullptr) times_.drop_last();
    if (next == nullptr) break;
    p = next;
    ++row;
    if (timed && !times_.expected().known()) continue;
    TimeText expected = times_.expected();
    const std::uint64_t told = row;
    const auto value_at = [&] { return p + before_row.length() + (timed ? expected.length() - 1 : 0); };
    for (bool as_expected = true; as_expected && next != nullptr;) {
      if (by_fours && p < stop) {
        four_rows_.learn_whole_digits(value_at() + before_value.length());
        const std::uint64_t taken = four_rows_.take<timed>(p, stop, expected, values + row);
        row += taken;
        single_rows = taken > 0 ? 1 : std::min<std::uint64_t>(2 * single_rows, 64);
      }
      for (const std::uint64_t until = row + single_rows; row < until; ++row) {
        as_expected = p < stop && (!timed || (expected.matches(p + before_row.length()) && before_row.differs(p) == 0));
        if (!as_expected) break;
        next = take_values(value_at());
        if (next == nullptr) break;
        if (timed) expected.advance();
        p = next;
      }
    }
    if (!timed) continue;
    times_.took_expected(row - told);
    times_.expected() = expected;
  }
  out_->rows = row;
  return p;
}

}  // namespace pulsewright::importers::text
