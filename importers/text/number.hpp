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

  /// The double nearest to the number at `p`, of which at least 32 bytes can be read; null when it has another form
  /// or would not be exact. Otherwise where it ends.
  const char* read(const char* p, double& value) const {
    using namespace detail;
    const bool negative = *p == '-';
    p += negative | (*p == '+');
    std::uint64_t w = load8(p);
    const bool has_point = ((w >> 8) & 0xff) == '.';
    w = ((w & 0xff) << 8) | (w & ~std::uint64_t{0xffff}) | '0';
    w ^= 0x3030303030303030u;
    std::uint64_t mantissa;
    bool digits;
    if (decimals_ <= 6) {
      w <<= 8 * (6 - decimals_);
      digits = all_digits(w);
      mantissa = eight_digits(w);
    } else {
      std::uint64_t rest = (load8(p + 8) ^ 0x3030303030303030u) << (8 * (14 - decimals_));
      digits = all_digits(w) & all_digits(rest);
      mantissa = eight_digits(w) * static_cast<std::uint64_t>(powers[static_cast<std::size_t>(decimals_ - 6)]) + eight_digits(rest);
    }
    const char* e = p + 2 + decimals_;
    const unsigned tens = static_cast<unsigned char>(e[2]) - unsigned{'0'};
    const unsigned ones = static_cast<unsigned char>(e[3]) - unsigned{'0'};
    const bool exponent_negative = e[1] == '-';
    const bool form = has_point & digits & (e[0] == exponent_mark_) & (exponent_negative | (e[1] == '+')) & (tens < 10) & (ones < 10);
    if (!form) return nullptr;
    const int exponent = static_cast<int>(tens * 10 + ones);
    const int power = (exponent_negative ? -exponent : exponent) - decimals_;
    // Exact by one rounding: mantissa below 2^53 (14 digits), power of ten below 10^22.
    if (power < -22 || power > 22) return nullptr;
    const auto m = static_cast<double>(static_cast<std::int64_t>(mantissa));
    const double v = power < 0 ? m / powers[static_cast<std::size_t>(-power)] : m * powers[static_cast<std::size_t>(power)];
    value = negative ? -v : v;
    return e + 4;
  }

 private:
  int decimals_ = 0;
  char exponent_mark_ = 'e';
};

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
