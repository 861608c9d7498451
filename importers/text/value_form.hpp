#pragma once
// How the numbers of one value column are printed, learned from the first rows, and the quick ways to read them.

#include <string_view>

#include "importers/text/cell.hpp"
#include "importers/text/number.hpp"

namespace pulsewright::importers::text {

enum class ValueNotation {
  scientific,  ///< "d.ffffe±xx", at most six decimals
  fixed,       ///< "i.ffff", at most six decimals
  longer,     ///< more digits than are decoded here
  any,
};

/// Notation of a column. `take_...` reads a number in it, at `p`, of which 64 bytes can be read; `wrong` gets other bits
/// than zero when the number has another form, and then value and return mean nothing. The value is the float nearest
/// to the printed decimal: for digits below 2^24 and powers of ten from 1e-10 to 1e10, rounding their product in double
/// first never changes the float (all of them tried).
class ValueForm {
 public:
  ValueForm() = default;
  static ValueForm scientific(int decimals, char mark);
  static ValueForm fixed(int decimals);
  static ValueForm longer();

  /// "e-02" as it has to stand, and the power of ten of the last digit.
  struct Exponent {
    std::uint32_t text = 0;
    double scale = 1;
  };
  /// One place for each sign and each of 00 to 19: what tells '-' from '+', the tens and the ones side by side.
  static std::uint32_t place_of(std::uint32_t text) { return (text & 0x0f010400u) * (1u << 21 | 1u << 14 | 1u << 2) >> 26; }
  static constexpr std::size_t places = 64;

  ValueNotation notation() const { return notation_; }
  int decimals() const { return decimals_; }
  double scale() const { return scale_; }  ///< of the last decimal, where there is no exponent
  const std::array<Exponent, places>& exponents() const { return exponents_; }  ///< by place_of()

  const char* take_scientific(const char* p, float& value, std::uint64_t& wrong) const {
    using namespace detail;
    const std::uint64_t negative = *p == '-';
    p += negative | static_cast<std::uint64_t>(*p == '+');
    const std::uint64_t w = load8(p) ^ 0x3030303030303030u;
    std::uint32_t e;
    std::memcpy(&e, p + 2 + decimals_, 4);
    const Exponent& exponent = exponents_[place_of(e)];
    wrong |= ((w + 0x7676767676767676u) | w) & digits_top_bits_;
    wrong |= (w & 0xff00) ^ (('.' ^ '0') << 8);
    wrong |= exponent.text ^ e;
    value = scaled(pairs_weighed((w & digits_mask_) << shift_, weights_02_, weights_13_), exponent.scale, negative);
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
    value = scaled(eight_digits(w), scale_, negative);
    return p + whole + 1 + decimals_;
  }

 private:
  static float scaled(std::uint32_t digits, double scale, std::uint64_t negative) {
    const auto value = static_cast<float>(static_cast<double>(static_cast<std::int32_t>(digits)) * scale);
    return std::bit_cast<float>(std::bit_cast<std::uint32_t>(value) | static_cast<std::uint32_t>(negative << 31));
  }

  ValueNotation notation_ = ValueNotation::any;
  int decimals_ = 0;
  double scale_ = 1;
  int shift_ = 0;  ///< makes pairs of digits of "d.ffff", one of which is the first digit and the point
  std::uint64_t digits_mask_ = 0, digits_top_bits_ = 0, weights_02_ = 0, weights_13_ = 0;
  std::array<Exponent, places> exponents_{};
};

/// The form that nearly all cells of the column have, else `any`. `rows` are whole lines.
ValueForm value_form(std::string_view rows, std::size_t column, const Grid& grid);

/// The float nearest to the plain number at `p`, of which 64 bytes can be read; fast_float where the quick way is not exact.
inline const char* take_any_value(const char* p, const char* end, char decimal, float& value) {
  Decimal number;
  const char* const behind = read_decimal(p, decimal, number);
  if (behind == nullptr || number.digits >= std::uint64_t{1} << 63 || number.power < -22 || number.power > 22) return read_plain(p, end, decimal, value);
  const double close = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(number.digits)), number.power);
  const bool all_digits_fit = number.digits < std::uint64_t{1} << 53;  // else they are rounded too
  if (!rounds_safely(close, all_digits_fit ? 0 : 2)) return read_plain(p, end, decimal, value);
  value = static_cast<float>(number.negative ? -close : close);
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
