#pragma once
// Numbers in cells, fast: digits eight at a time where the form is common, fast_float everywhere else.

#include <fast_float/fast_float.h>

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>

namespace pulsewright::importers::text {

static_assert(std::endian::native == std::endian::little, "digits are decoded in little-endian words");

namespace detail {

inline constexpr std::array<double, 23> powers{1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                               1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

inline std::uint64_t load8(const char* p) {
  std::uint64_t word;
  std::memcpy(&word, p, 8);
  return word;
}

/// Eight bytes 0..9, first digit in the lowest byte, as a number.
inline std::uint32_t eight_digits(std::uint64_t w) {
  w = w * 10 + (w >> 8);
  return static_cast<std::uint32_t>(
      (((w & 0x000000FF000000FFu) * 0x000F424000000064u) + (((w >> 16) & 0x000000FF000000FFu) * 0x0000271000000001u)) >> 32);
}

/// True when every byte is 0..9.
inline bool all_digits(std::uint64_t w) { return (((w + 0x7676767676767676u) | w) & 0x8080808080808080u) == 0; }

/// One rounding: the power of ten is exact.
inline double scaled_by_ten(double value, int power) {
  return power < 0 ? value / powers[static_cast<std::size_t>(-power)] : value * powers[static_cast<std::size_t>(power)];
}

inline constexpr std::array<float, 11> float_powers{1e0f, 1e1f, 1e2f, 1e3f, 1e4f, 1e5f, 1e6f, 1e7f, 1e8f, 1e9f, 1e10f};

}  // namespace detail

/// "d.ffffff e±xx" with a fixed number of decimals (1..13), as most instruments print.
class ScientificForm {
 public:
  ScientificForm() = default;
  /// Learns the form of an example; `usable()` is false when it has another one.
  ScientificForm(const char* p, const char* end) {
    if (p < end && (*p == '-' || *p == '+')) ++p;
    if (end - p < 5 || p[1] != '.') return;
    int decimals = 0;
    while (p + 2 + decimals < end && p[2 + decimals] >= '0' && p[2 + decimals] <= '9') ++decimals;
    if (decimals < 1 || decimals > 13 || p + 2 + decimals >= end) return;
    exponent_mark_ = p[2 + decimals];
    if (exponent_mark_ != 'e' && exponent_mark_ != 'E') return;
    decimals_ = decimals;
  }

  bool usable() const { return decimals_ != 0; }

  int decimals() const { return decimals_; }
  char exponent_mark() const { return exponent_mark_; }

  /// Digits of the mantissa without its point, at `p` behind the sign; 18 bytes can be read. False when it has another form.
  bool mantissa(const char* p, std::uint64_t& digits) const {
    using namespace detail;
    std::uint64_t w = load8(p);
    const bool has_point = ((w >> 8) & 0xff) == '.';
    w = ((w & 0xff) << 8) | (w & ~std::uint64_t{0xffff}) | '0';
    w ^= 0x3030303030303030u;
    if (decimals_ <= 6) {
      w <<= 8 * (6 - decimals_);
      digits = eight_digits(w);
      return has_point & all_digits(w);
    }
    const std::uint64_t rest = (load8(p + 8) ^ 0x3030303030303030u) << (8 * (14 - decimals_));
    digits = eight_digits(w) * static_cast<std::uint64_t>(powers[static_cast<std::size_t>(decimals_ - 6)]) + eight_digits(rest);
    return has_point & all_digits(w) & all_digits(rest);
  }

  /// Power of ten of the last mantissa digit, from the exponent field at `e`; `none` when it has another form.
  int power(const char* e) const {
    const unsigned tens = static_cast<unsigned char>(e[2]) - unsigned{'0'};
    const unsigned ones = static_cast<unsigned char>(e[3]) - unsigned{'0'};
    const bool negative = e[1] == '-';
    if (!((e[0] == exponent_mark_) & (negative | (e[1] == '+')) & (tens < 10) & (ones < 10))) return none;
    const int exponent = static_cast<int>(tens * 10 + ones);
    return (negative ? -exponent : exponent) - decimals_;
  }
  static constexpr int none = 1000;

  /// The double nearest to the number at `p`, of which at least 32 bytes can be read. Null when it has another form or
  /// would not be exact (mantissa below 2^53, power of ten within 22); otherwise where it ends.
  const char* read(const char* p, double& value) const {
    const bool negative = *p == '-';
    p += negative | (*p == '+');
    std::uint64_t digits = 0;
    if (!mantissa(p, digits)) return nullptr;
    const int tens = power(p + 2 + decimals_);
    if (tens < -22 || tens > 22) return nullptr;
    const double v = detail::scaled_by_ten(static_cast<double>(static_cast<std::int64_t>(digits)), tens);
    value = negative ? -v : v;
    return p + 6 + decimals_;
  }

 private:
  int decimals_ = 0;
  char exponent_mark_ = 'e';
};

struct Decimal {
  std::uint64_t digits;
  int power;  ///< of ten, of the last digit
  bool negative;
};

/// Any plain decimal, "-0.000999999" or "2.5e-06", of which at least 40 bytes can be read. Null when it has no digits or
/// more than 17 of them, or an exponent that is out of the ordinary; otherwise where it ends.
inline const char* read_decimal(const char* p, char decimal, Decimal& number) {
  using namespace detail;
  number.negative = *p == '-';
  p += number.negative | (*p == '+');
  std::uint64_t m = 0;
  const char* const first = p;
  for (; static_cast<unsigned char>(*p - '0') < 10; ++p) {
    if (p - first == 18) return nullptr;
    m = m * 10 + static_cast<unsigned char>(*p - '0');
  }
  std::ptrdiff_t count = p - first;
  number.power = 0;
  if (*p == decimal) {
    const char* const point = ++p;
    if (const std::uint64_t w = load8(p) ^ 0x3030303030303030u; all_digits(w)) {
      m = m * 100000000 + eight_digits(w);
      p += 8;
    }
    for (; static_cast<unsigned char>(*p - '0') < 10; ++p) {
      if (p - point == 18) return nullptr;
      m = m * 10 + static_cast<unsigned char>(*p - '0');
    }
    number.power = static_cast<int>(point - p);
    count += p - point;
  }
  if (count == 0 || count > 17) return nullptr;
  number.digits = m;
  if ((*p | 0x20) != 'e') return p;
  const bool negative = p[1] == '-';
  p += 1 + (negative || p[1] == '+');
  if (static_cast<unsigned char>(*p - '0') >= 10) return nullptr;
  int exponent = *p++ - '0';
  if (static_cast<unsigned char>(*p - '0') < 10) exponent = exponent * 10 + (*p++ - '0');
  if (static_cast<unsigned char>(*p - '0') < 10) return nullptr;
  number.power += negative ? -exponent : exponent;
  return p;
}

/// Whether rounding this correctly rounded double to float is rounding the decimal itself: not on the midpoint of two
/// floats, and in the range of normal floats or zero.
inline bool rounds_safely(double value) {
  const auto bits = std::bit_cast<std::uint64_t>(value);
  const std::uint64_t magnitude = bits & 0x7fffffffffffffffu;
  if ((bits & 0x1fffffffu) == 0x10000000u) return false;
  return magnitude == 0 || (magnitude >= 0x3820000000000000u && magnitude < 0x47e0000000000000u);
}

/// Number at `p` before `end` by fast_float; a leading '+' is allowed. Null when there is none or it is not finite.
template <class Number>
const char* read_plain(const char* p, const char* end, char decimal, Number& value) {
  if (p < end && *p == '+') ++p;
  if (p >= end || (*p != '-' && *p != decimal && (*p < '0' || *p > '9'))) return nullptr;
  const auto result = fast_float::from_chars_advanced(p, end, value, fast_float::parse_options{fast_float::chars_format::general, decimal});
  if (result.ec != std::errc() || !(value - value == 0)) return nullptr;
  return result.ptr;
}

}  // namespace pulsewright::importers::text
