// The common forms, fast: time and values as plain numbers, quickest in scientific notation with fixed decimals. The
// digits of each time are predicted from the two before and verified; values are decoded eight digits at a time. Stops
// at the first row of another form.

#include <algorithm>

#include "importers/text/block.hpp"

namespace pulsewright::importers::text {

namespace {

constexpr std::ptrdiff_t readable_behind = 64;  ///< bytes behind the start of a cell that may be looked at
constexpr std::uint64_t exact_digits = std::uint64_t{1} << 53;

/// The run of times that is being extended, in digits as printed.
class RunningTimes {
 public:
  RunningTimes(const ScientificForm& form, double scale, std::vector<TimeRun>& runs) : form_(form), scale_(scale), runs_(runs) {}

  /// The same for a time of any plain form.
  const char* take_plain(const char* p, char decimal) {
    Decimal number;
    const char* const end = read_decimal(p, decimal, number);
    if (end == nullptr || number.digits >= exact_digits) return nullptr;
    const auto signed_digits = number.negative ? -static_cast<std::int64_t>(number.digits) : static_cast<std::int64_t>(number.digits);
    const std::int64_t step = signed_digits - digits_;
    if (rows_ >= 2 && number.power == power_ && step == step_) ++rows_;
    else if (!start_or_bend(signed_digits, static_cast<std::uint32_t>(number.power), step, number.power)) return nullptr;
    digits_ = signed_digits;
    return end;
  }

  /// Takes the time at `p`; where it ends, or null.
  const char* take(const char* p) {
    const bool negative = *p == '-';
    p += negative | (*p == '+');
    std::uint64_t digits = 0;
    if (!form_.mantissa(p, digits)) return nullptr;
    const char* const e = p + 2 + form_.decimals();
    std::uint32_t exponent;
    std::memcpy(&exponent, e, 4);
    const auto signed_digits = negative ? -static_cast<std::int64_t>(digits) : static_cast<std::int64_t>(digits);
    const std::int64_t step = signed_digits - digits_;
    if (rows_ >= 2 && exponent == exponent_ && step == step_) {
      ++rows_;
    } else if (!start_or_bend(signed_digits, exponent, step, exponent == exponent_ && rows_ > 0 ? power_ : form_.power(e))) {
      return nullptr;
    }
    digits_ = signed_digits;
    return e + 4;
  }

  void close() {
    if (rows_ > 0) runs_.push_back({rows_, first_, time(digits_)});
    rows_ = 0;
  }

  /// Takes back the last time.
  void drop_last() {
    if (--rows_ > 0) digits_ -= step_;
  }

 private:
  double time(std::int64_t digits) const { return scale_ * detail::scaled_by_ten(static_cast<double>(digits), power_); }

  bool start_or_bend(std::int64_t digits, std::uint32_t exponent, std::int64_t step, int power) {
    if (rows_ == 1 && exponent == exponent_) {
      step_ = step;
      rows_ = 2;
      return true;
    }
    if (power < -22 || power > 22) return false;
    close();
    power_ = power;
    exponent_ = exponent;
    first_ = time(digits);
    rows_ = 1;
    return true;
  }

  const ScientificForm& form_;
  const double scale_;
  std::vector<TimeRun>& runs_;
  std::uint64_t rows_ = 0;
  std::int64_t digits_ = 0, step_ = 0;
  std::uint32_t exponent_ = 0;
  int power_ = 0;
  double first_ = 0;
};

/// Correctly rounded float at `p`; where it ends, or null.
inline const char* take_value(const ScientificForm& form, const char* p, float& value) {
  const bool negative = *p == '-';
  p += negative | (*p == '+');
  std::uint64_t digits = 0;
  if (!form.mantissa(p, digits)) return nullptr;
  const int power = form.power(p + 2 + form.decimals());
  float v;
  if (form.decimals() <= 6 && power >= -10 && power <= 10) {
    // Digits below 2^24 and the power of ten are exact floats: one rounding.
    const auto m = static_cast<float>(static_cast<std::int32_t>(digits));
    v = power < 0 ? m / detail::float_powers[static_cast<std::size_t>(-power)] : m * detail::float_powers[static_cast<std::size_t>(power)];
  } else {
    if (power < -22 || power > 22) return nullptr;
    const double exact = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(digits)), power);
    if (!rounds_safely(exact)) return nullptr;
    v = static_cast<float>(exact);
  }
  value = negative ? -v : v;
  return p + 6 + form.decimals();
}

/// The same for a value of any plain form; fast_float where the quick way is not exact.
inline const char* take_plain_value(const char* p, const char* end, char decimal, float& value) {
  Decimal number;
  const char* const behind = read_decimal(p, decimal, number);
  if (behind == nullptr || number.digits >= exact_digits || number.power < -22 || number.power > 22) return read_plain(p, end, decimal, value);
  const double exact = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(number.digits)), number.power);
  if (!rounds_safely(exact)) return read_plain(p, end, decimal, value);
  value = static_cast<float>(number.negative ? -exact : exact);
  return behind;
}

}  // namespace

void BlockReader::prepare_even_rows() {
  has_even_form_ = layout_.time == TimeKind::number && layout_.grid.delimiter != ' ' && events.empty() && steps_.size() >= 2 &&
                   steps_.front().column->role == Role::time;
  for (std::size_t i = 0; i < steps_.size(); ++i) {
    const Step& step = steps_[i];
    const bool fits = step.skip == (i == 0 ? 0u : 1u) &&
                      (i == 0 || (step.column->role == Role::value && step.column->scale == 1));
    has_even_form_ = has_even_form_ && fits;
  }
}

const char* BlockReader::even_rows(const char* p, const char* end) {
  const auto margin = static_cast<std::size_t>(readable_behind) * steps_.size();
  if (text_.size() <= margin) return p;
  const char* const stop = std::min(end, text_.data() + text_.size() - margin);
  const char delimiter = layout_.grid.delimiter;
  RunningTimes running(steps_.front().form, layout_.time_scale, times);
  std::uint64_t row = rows;
  const char decimal = layout_.grid.decimal;
  const std::size_t columns = steps_.size();
  const bool time_has_form = steps_.front().form.usable();
  while (p < stop) {
    const char* q = time_has_form ? running.take(p) : running.take_plain(p, decimal);
    if (q == nullptr) break;
    std::size_t i = 1;
    for (; i < columns && *q == delimiter; ++i) {
      const Step& step = steps_[i];
      float& value = values[step.slot][row];
      q = step.form.usable() ? take_value(step.form, q + 1, value) : take_plain_value(q + 1, end, decimal, value);
      if (q == nullptr) break;
    }
    if (i < columns || (*q != '\n' && (*q != '\r' || q[1] != '\n'))) {
      running.drop_last();
      break;
    }
    p = q + (*q == '\n' ? 1 : 2);
    ++row;
  }
  running.close();
  rows = row;
  return p;
}

}  // namespace pulsewright::importers::text
