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

/// Notation of a column. `take_...` reads a number in it, at `p`, of which 64 bytes can be read; `wrong` gets other bits
/// than zero when the number has another form, and then value and return mean nothing. The value is the float nearest
/// to the printed decimal: digits below 2^24 and powers of ten up to 1e10 are exact, so there is one rounding.
class ValueForm {
 public:
  ValueForm() = default;
  static ValueForm scientific(int decimals, char mark);
  static ValueForm fixed(int decimals);

  ValueNotation notation() const { return notation_; }
  int decimals() const { return decimals_; }

  const char* take_scientific(const char* p, float& value, std::uint64_t& wrong) const {
    using namespace detail;
    const std::uint64_t negative = *p == '-';
    p += negative | static_cast<std::uint64_t>(*p == '+');
    std::uint64_t w = load8(p);
    std::uint32_t e;
    std::memcpy(&e, p + 2 + decimals_, 4);
    const Exponent& exponent = exponents_[(((e >> 16 & 15) * 10 + (e >> 24 & 15)) & 31) | (e >> 5 & 32)];
    wrong |= (w >> 8 & 0xff) ^ '.';
    w = (((w & 0xff) << 8) | (w & ~std::uint64_t{0xffff}) | '0') ^ 0x3030303030303030u;
    w <<= 8 * (6 - decimals_);
    wrong |= ((w + 0x7676767676767676u) | w) & 0x8080808080808080u;
    wrong |= exponent.text ^ e;
    const auto digits = static_cast<float>(static_cast<std::int32_t>(eight_digits(w)));
    value = signed_float(digits * exponent.times / exponent.over, negative);
    return p + 6 + decimals_;
  }

  const char* take_fixed(const char* p, char decimal, float& value, std::uint64_t& wrong) const {
    using namespace detail;
    const std::uint64_t negative = *p == '-';
    p += negative | static_cast<std::uint64_t>(*p == '+');
    std::uint64_t w = load8(p);
    std::ptrdiff_t whole = 1;
    while (whole < 7 - decimals_ && p[whole] != decimal) ++whole;  // as many digits as in the row before, mostly
    wrong |= static_cast<std::uint64_t>(p[whole] != decimal);
    const std::uint64_t before = (std::uint64_t{1} << (8 * whole)) - 1;
    w ^= 0x3030303030303030u;
    w = ((w & before) | ((w >> 8) & ~before)) << (64 - 8 * (whole + decimals_));
    wrong |= ((w + 0x7676767676767676u) | w) & 0x8080808080808080u;
    const auto digits = static_cast<float>(static_cast<std::int32_t>(eight_digits(w)));
    value = signed_float(digits / float_powers[static_cast<std::size_t>(decimals_)], negative);
    return p + whole + 1 + decimals_;
  }

 private:
  static float signed_float(float value, std::uint64_t negative) {
    return std::bit_cast<float>(std::bit_cast<std::uint32_t>(value) | static_cast<std::uint32_t>(negative << 31));
  }
  /// "e-02" as it has to stand, and its power of ten as a factor and a divisor, one of which is 1.
  struct Exponent {
    std::uint32_t text = 0;
    float times = 1, over = 1;
  };

  ValueNotation notation_ = ValueNotation::any;
  int decimals_ = 0;
  std::array<Exponent, 64> exponents_{};  ///< by the exponent's size and, from 32 on, negative ones
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
