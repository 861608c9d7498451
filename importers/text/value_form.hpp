#pragma once
// How the numbers of one value column are printed, learned from the first rows, and the quick ways to read them.

#include <string_view>

#include "importers/text/number.hpp"

namespace pulsewright::importers::text {

enum class ValueNotation {
  scientific,  ///< "d.ffffe±xx", at most six decimals
  fixed,       ///< "i.ffff", at most six decimals
  any,
};

/// Notation of a column. `take` reads a number in it, at `p`, of which 64 bytes can be read; `wrong` gets other bits
/// than zero when the number has another form, and then value and return mean nothing. The value is the float nearest
/// to the printed decimal: digits below 2^24 and powers of ten up to 1e10 are exact, so there is one rounding.
struct ValueForm {
  ValueNotation notation = ValueNotation::any;
  int decimals = 0;
  unsigned char mark = 'e';

  const char* take_scientific(const char* p, float& value, std::uint64_t& wrong) const {
    using namespace detail;
    const std::uint64_t negative = *p == '-';
    p += negative | static_cast<std::uint64_t>(*p == '+');
    std::uint64_t w = load8(p);
    std::uint32_t e;
    std::memcpy(&e, p + 2 + decimals, 4);
    wrong |= ((w >> 8) & 0xff) ^ '.';
    w = (((w & 0xff) << 8) | (w & ~std::uint64_t{0xffff}) | '0') ^ 0x3030303030303030u;
    w <<= 8 * (6 - decimals);
    const std::uint32_t places = (e >> 16) ^ 0x3030u;
    wrong |= ((w + 0x7676767676767676u) | w) & 0x8080808080808080u;
    wrong |= ((places + 0x7676u) | places) & 0x8080u;
    wrong |= (e & 0xff) ^ mark;
    const bool down = (e >> 8 & 0xff) == '-';
    wrong |= static_cast<std::uint64_t>(!down & ((e >> 8 & 0xff) != '+'));
    const int exponent = static_cast<int>((places & 15) * 10 + (places >> 8 & 15));
    unsigned power = static_cast<unsigned>((down ? -exponent : exponent) - decimals + 10);
    wrong |= power > 20;
    power = power > 20 ? 0 : power;
    const auto digits = static_cast<float>(static_cast<std::int32_t>(eight_digits(w)));
    value = signed_float(digits * times[power] / over[power], negative);
    return p + 6 + decimals;
  }

  const char* take_fixed(const char* p, char decimal, float& value, std::uint64_t& wrong) const {
    using namespace detail;
    const std::uint64_t negative = *p == '-';
    p += negative | static_cast<std::uint64_t>(*p == '+');
    std::uint64_t w = load8(p);
    std::ptrdiff_t whole = 1;
    while (p[whole] != decimal && whole < 7 - decimals) ++whole;  // as many digits as in the row before, mostly
    wrong |= static_cast<std::uint64_t>(p[whole] != decimal);
    const std::uint64_t before = (std::uint64_t{1} << (8 * whole)) - 1;
    w ^= 0x3030303030303030u;
    w = ((w & before) | ((w >> 8) & ~before)) << (64 - 8 * (whole + decimals));
    wrong |= ((w + 0x7676767676767676u) | w) & 0x8080808080808080u;
    const auto digits = static_cast<float>(static_cast<std::int32_t>(eight_digits(w)));
    value = signed_float(digits / float_powers[static_cast<std::size_t>(decimals)], negative);
    return p + whole + 1 + decimals;
  }

 private:
  static float signed_float(float value, std::uint64_t negative) {
    return std::bit_cast<float>(std::bit_cast<std::uint32_t>(value) | static_cast<std::uint32_t>(negative << 31));
  }
  /// Powers of ten from -10 to 10 as a factor and a divisor, one of which is 1.
  static constexpr std::array<float, 21> times{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1e1f, 1e2f, 1e3f, 1e4f, 1e5f, 1e6f, 1e7f, 1e8f, 1e9f, 1e10f};
  static constexpr std::array<float, 21> over{1e10f, 1e9f, 1e8f, 1e7f, 1e6f, 1e5f, 1e4f, 1e3f, 1e2f, 1e1f, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
};

/// The form that nearly all cells of the column have, else `any`. `rows` are whole lines.
ValueForm value_form(std::string_view rows, std::size_t column, char delimiter, char decimal);

/// The float nearest to the plain number at `p`, of which 64 bytes can be read; fast_float where the quick way is not exact.
inline const char* take_any_value(const char* p, const char* end, char decimal, float& value) {
  Decimal number;
  const char* const behind = read_decimal(p, decimal, number);
  if (behind == nullptr || number.digits >= std::uint64_t{1} << 53 || number.power < -22 || number.power > 22) return read_plain(p, end, decimal, value);
  const double exact = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(number.digits)), number.power);
  if (!rounds_safely(exact)) return read_plain(p, end, decimal, value);
  value = static_cast<float>(number.negative ? -exact : exact);
  return behind;
}

/// The double nearest to the plain number at `p`; the same conditions.
inline const char* take_any_value(const char* p, const char* end, char decimal, double& value) {
  Decimal number;
  const char* const behind = read_decimal(p, decimal, number);
  if (behind == nullptr || number.digits >= std::uint64_t{1} << 53 || number.power < -22 || number.power > 22) return read_plain(p, end, decimal, value);
  const double exact = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(number.digits)), number.power);
  value = number.negative ? -exact : exact;
  return behind;
}

}  // namespace pulsewright::importers::text
