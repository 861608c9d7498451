#include "importers/text/running_times.hpp"

#include <algorithm>
#include <limits>

namespace pulsewright::importers::text {

namespace {

constexpr std::int64_t largest = std::int64_t{1} << 60;  // steps between such numbers, and one step more, fit into 64 bits

/// The lowest `count` bytes of a word, all of them from eight on.
std::uint64_t low_bytes(std::ptrdiff_t count) { return count <= 0 ? 0 : count >= 8 ? ~std::uint64_t{0} : (std::uint64_t{1} << (8 * count)) - 1; }

/// Bytes [from, 8) of a word in the order of the text.
std::uint64_t bytes_from(std::ptrdiff_t from) { return ~low_bytes(std::clamp<std::ptrdiff_t>(from, 0, 8)); }

std::int64_t signed_digits(const Decimal& number) {
  return number.negative ? -static_cast<std::int64_t>(number.digits) : static_cast<std::int64_t>(number.digits);
}

}  // namespace

void TimeText::predict(const char* p, const char* end, const Decimal& number, std::int64_t step, const char* readable_begin) {
  left_ = 0;
  const std::ptrdiff_t digits_end = number.mantissa_end - p, tail = end + 1 - number.mantissa_end;
  if (digits_end > 16 || tail > 8 || p - readable_begin < 16) return;
  low_at_ = digits_end - 8;
  length_ = end + 1 - p;
  // Bytes of the low word are counted from the right, where the last digit stands.
  const bool has_sign = *p == '-' || *p == '+';
  const std::ptrdiff_t digit_bytes = std::min<std::ptrdiff_t>(8, digits_end - has_sign);
  const std::ptrdiff_t point = number.point == nullptr ? 8 : number.mantissa_end - number.point - 1;
  point_ = point < digit_bytes ? std::uint64_t{9} << (8 * point) : 0;
  low_mask_ = low_bytes(digits_end);
  const std::uint64_t text = detail::swapped(detail::load8(p + low_at_)) & low_mask_;
  const std::uint64_t digits = low_bytes(digit_bytes);
  low_ = ((text ^ 0x3030303030303030u) & digits & ~(point_ * 0xff / 9)) | point_;
  literal_ = text ^ low_;
  // A step down is its complement: every byte passes the carry on, but for those that the step changes.
  const bool down = (number.negative ? -step : step) < 0;
  const auto size = static_cast<std::uint64_t>(step < 0 ? -step : step);
  std::uint64_t rest = size, sum = down ? ~digits & 0x0909090909090909u : 0, borrow = 0, value = 0, unit = 1;
  for (std::ptrdiff_t byte = 0; byte < digit_bytes; ++byte) {
    if (byte == point) continue;
    value += (low_ >> (8 * byte) & 0xff) * unit;
    unit *= 10;
    const std::uint64_t digit = rest % 10 + borrow;
    rest /= 10;
    borrow = down && digit > 0;
    sum |= (down ? (10 - digit) % 10 : digit) << (8 * byte);
  }
  step_ = sum + no_carry;
  high_ = detail::load8(p + low_at_ - 8);
  high_mask_ = bytes_from(8 - low_at_);
  tail_ = detail::load8(number.mantissa_end);
  tail_mask_ = low_bytes(tail);
  low_ = stepped(low_);
  left_ = size == 0 ? std::numeric_limits<std::uint64_t>::max() : (down ? value : unit - 1 - value) / size;
}

TimeText::Ahead TimeText::ahead() const {
  const auto in_text = [](std::uint64_t word) { return detail::swapped(word); };
  Ahead ahead{low_at_, high_, high_mask_, tail_, tail_mask_, in_text(literal_), in_text(low_mask_), {low_}, 0, point_};
  for (std::size_t i = 1; i < ahead.digits.size(); ++i) ahead.digits[i] = stepped(ahead.digits[i - 1]);
  std::uint64_t from_zero = point_;
  for (int i = 0; i < 4; ++i) from_zero = stepped(from_zero);
  ahead.step = (from_zero ^ point_) + no_carry;
  return ahead;
}

const char* RunningTimes::take(const char* p) {
  Decimal number;
  const char* const end = read_decimal(p, decimal_, number);
  if (end == nullptr || number.digits >= static_cast<std::uint64_t>(largest)) return nullptr;
  if (number.power < -22 || number.power > 22) return nullptr;
  const bool scientific = number.mantissa_end != end;
  const int power = power_;
  const bool line = rows_ > 0 && (number.power == power || !scientific) && on_line(number);
  if (!line) start(number);
  else ++rows_;
  // A row that leaves out trailing zeros says less than what is expected of the next one.
  if (line && number.power > power && expected_.known()) expected_.advance();
  else if (has_step_ && number.power == power_) expected_.predict(p, end, number, step_, readable_begin_);
  else expected_.forget();
  return end;
}

void RunningTimes::begin_block(const char* readable_begin, std::vector<TimeRun>& runs) {
  readable_begin_ = readable_begin;
  runs_ = &runs;
  rows_ = 0;
  has_step_ = false;
  expected_.forget();
}

void RunningTimes::add_alone(double time_s) {
  close();
  runs_->push_back({1, time_s, time_s});
}

/// Whether the time continues the run; a finer last digit refines the run.
bool RunningTimes::on_line(const Decimal& number) {
  std::int64_t digits = signed_digits(number);
  const int finer = power_ - number.power;
  if (finer > 8 || finer < -8) return false;
  const auto factor = static_cast<std::int64_t>(detail::integer_powers[static_cast<std::size_t>(finer < 0 ? -finer : finer)]);
  if (finer < 0) {
    if (digits > largest / factor || digits < -largest / factor) return false;
    digits *= factor;
  } else if (finer > 0) {
    if (first_ > largest / factor || first_ < -largest / factor) return false;
    if (step_ > largest / factor || step_ < -largest / factor) return false;
    if (rows_ > 1 && (digits % factor != 0 || digits / factor != first_ + step_ * static_cast<std::int64_t>(rows_))) return false;
    first_ *= factor;
    step_ *= factor;
    power_ = number.power;
  }
  if (rows_ == 1) {
    step_ = digits - first_;
    has_step_ = true;
    return true;
  }
  return digits == first_ + step_ * static_cast<std::int64_t>(rows_);
}

void RunningTimes::start(const Decimal& number) {
  close();
  has_step_ = has_step_ && number.power == power_;
  power_ = number.power;
  first_ = signed_digits(number);
  rows_ = 1;
}

void RunningTimes::close() {
  if (rows_ > 0) runs_->push_back({rows_, time(first_), time(first_ + step_ * static_cast<std::int64_t>(rows_ - 1))});
  rows_ = 0;
  expected_.forget();
}

}  // namespace pulsewright::importers::text
