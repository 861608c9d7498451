#pragma once
// Numbers in cells, fast: digits eight at a time, fast_float where that would not be exact.

#include <fast_float/fast_float.h>

#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace pulsewright::importers::text {

static_assert(std::endian::native == std::endian::little, "digits are decoded in little-endian words");

namespace detail {

inline constexpr std::array<double, 23> powers{1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                               1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

inline constexpr std::array<std::uint64_t, 9> integer_powers{1, 10, 100, 1000, 10000, 100000, 1000000, 10000000, 100000000};

inline std::uint64_t load8(const char* p) {
  std::uint64_t word;
  std::memcpy(&word, p, 8);
  return word;
}

inline std::uint64_t swapped(std::uint64_t word) {
  word = (word & 0x00ff00ff00ff00ffu) << 8 | (word >> 8 & 0x00ff00ff00ff00ffu);
  word = (word & 0x0000ffff0000ffffu) << 16 | (word >> 16 & 0x0000ffff0000ffffu);
  return word << 32 | word >> 32;
}

/// Eight bytes 0..9 as four pairs, the first in the lowest bytes, each times its weight: those of the first and third pair
/// in one word, the first pair's in its upper half, those of the second and fourth in the other.
inline std::uint32_t pairs_weighed(std::uint64_t w, std::uint64_t weights_02, std::uint64_t weights_13) {
  w = w * 10 + (w >> 8);
  return static_cast<std::uint32_t>(((w & 0x000000FF000000FFu) * weights_02 + ((w >> 16) & 0x000000FF000000FFu) * weights_13) >> 32);
}

/// Eight bytes 0..9, first digit in the lowest byte, as a number.
inline std::uint32_t eight_digits(std::uint64_t w) { return pairs_weighed(w, 0x000F424000000064u, 0x0000271000000001u); }

/// True when every byte is 0..9.
inline bool all_digits(std::uint64_t w) { return (((w + 0x7676767676767676u) | w) & 0x8080808080808080u) == 0; }

/// One rounding: the power of ten is exact.
inline double scaled_by_ten(double value, int power) {
  return power < 0 ? value / powers[static_cast<std::size_t>(-power)] : value * powers[static_cast<std::size_t>(power)];
}

}  // namespace detail

struct Decimal {
  std::uint64_t digits;
  int power;  ///< of ten, of the last digit
  bool negative;
  const char* point;         ///< null when there is none
  const char* mantissa_end;  ///< behind the last digit before the exponent
};

namespace detail {

/// Up to eight digits at `p` appended to `m`; how many there were.
inline int append_digits(const char* p, std::uint64_t& m) {
  const std::uint64_t w = load8(p) ^ 0x3030303030303030u;
  const std::uint64_t others = ((w + 0x7676767676767676u) | w) & 0x8080808080808080u;
  const int count = others == 0 ? 8 : std::countr_zero(others) / 8;
  if (count == 0) return 0;
  m = m * integer_powers[static_cast<std::size_t>(count)] + eight_digits(w << (64 - 8 * count));
  return count;
}

}  // namespace detail

inline constexpr std::ptrdiff_t most_digits = 19;  ///< that read_decimal takes: any such number fits into 64 bits

/// Any plain decimal, "-0.000999999" or "2.5e-06", of which at least 48 bytes can be read. Null when it has no digits or
/// too many of them, or an exponent that is out of the ordinary; otherwise where it ends.
inline const char* read_decimal(const char* p, char decimal, Decimal& number) {
  using namespace detail;
  number.negative = *p == '-';
  p += number.negative | (*p == '+');
  std::uint64_t m = 0;
  const char* const first = p;
  for (; static_cast<unsigned char>(*p - '0') < 10; ++p) {
    if (p - first == most_digits) return nullptr;
    m = m * 10 + static_cast<unsigned char>(*p - '0');
  }
  std::ptrdiff_t count = p - first;
  number.power = 0;
  number.point = nullptr;
  if (*p == decimal) {
    number.point = p++;
    int decimals = append_digits(p, m);
    if (decimals == 8) decimals += append_digits(p + 8, m);
    if (decimals == 16) decimals += append_digits(p + 16, m);
    p += decimals;
    number.power = -decimals;
    count += decimals;
  }
  if (count == 0 || count > most_digits) return nullptr;
  number.digits = m;
  number.mantissa_end = p;
  if ((*p | 0x20) != 'e') return p;
  const bool negative = p[1] == '-';
  p += 1 + (negative || p[1] == '+');
  if (static_cast<unsigned char>(*p - '0') >= 10) return nullptr;
  if (p[0] == '0' && static_cast<unsigned char>(p[1] - '0') < 10) ++p;
  int exponent = *p++ - '0';
  if (static_cast<unsigned char>(*p - '0') < 10) exponent = exponent * 10 + (*p++ - '0');
  if (static_cast<unsigned char>(*p - '0') < 10) return nullptr;
  number.power += negative ? -exponent : exponent;
  return p;
}

/// Whether rounding this double to float is rounding the decimal itself, from which it is off by its own rounding and at most
/// `more` units of its last place: not that close to the midpoint of two floats, and in the range of normal floats or zero.
inline bool rounds_safely(double value, std::uint64_t more = 0) {
  const auto bits = std::bit_cast<std::uint64_t>(value);
  const std::uint64_t magnitude = bits & 0x7fffffffffffffffu;
  if ((bits & 0x1fffffffu) - (0x10000000u - more) <= 2 * more) return false;
  return magnitude == 0 || (magnitude >= 0x3820000000000000u && magnitude < 0x47e0000000000000u);
}

/// Up to seven bytes that have to stand somewhere.
class Literal {
 public:
  Literal() = default;
  explicit Literal(std::string_view text) : length_(static_cast<std::ptrdiff_t>(text.size())), mask_((std::uint64_t{1} << (8 * text.size())) - 1) {
    std::memcpy(&text_, text.data(), text.size());
  }
  /// Zero where they stand at `p`, of which eight bytes can be read.
  std::uint64_t differs(const char* p) const { return (detail::load8(p) ^ text_) & mask_; }
  std::ptrdiff_t length() const { return length_; }
  std::uint64_t text() const { return text_; }  ///< the first byte lowest, zeros behind the last

  static constexpr std::size_t longest = 7;

 private:
  std::ptrdiff_t length_ = 0;
  std::uint64_t text_ = 0, mask_ = 0;
};

/// A power of ten or any other number to multiply by; the reciprocal of a power of ten divides, which rounds once.
class Scale {
 public:
  explicit Scale(double scale) : factor_(scale) {
    const double inverse = std::round(1 / scale);
    divides_ = scale < 1 && scale >= 1e-15 && inverse * scale == 1;
    if (divides_) factor_ = inverse;
  }
  bool is_one() const { return factor_ == 1; }
  double operator()(double value) const { return divides_ ? value / factor_ : value * factor_; }

 private:
  double factor_;
  bool divides_;
};

/// Number at `p` before `end` by fast_float; a leading '+' is allowed. Null when there is none or it is not finite.
template <class Number>
const char* read_plain(const char* p, const char* end, char decimal, Number& value) {
  if (p < end && *p == '+' && (++p == end || *p == '-')) return nullptr;
  if (p >= end || (*p != '-' && *p != decimal && (*p < '0' || *p > '9'))) return nullptr;
  const auto result = fast_float::from_chars_advanced(p, end, value, fast_float::parse_options{fast_float::chars_format::general, decimal});
  if (result.ec != std::errc() || !(value - value == 0)) return nullptr;
  return result.ptr;
}

}  // namespace pulsewright::importers::text
