#pragma once
// Rows of a predicted time and one value, four side by side: the quickest way, where the processor has SSE2.

#include <array>
#include <cstddef>
#include <cstdint>

#include "importers/text/number.hpp"
#include "importers/text/running_times.hpp"
#include "importers/text/value_form.hpp"

namespace pulsewright::importers::text {

/// Takes rows that have the form of those before; all others are left to the way of single rows.
class FourRows {
 public:
  FourRows() = default;
  /// For rows of perhaps a time and a value, with this before the time, before the value and behind it.
  FourRows(const ValueForm& form, char decimal, const Literal& before_time, const Literal& before_value, const Literal& line_end);

  /// Whether rows of this kind can be read here at all.
  bool usable() const { return usable_; }

  /// Sees from the value at `p` how many digits stand before the point, where its notation leaves that open.
  void learn_whole_digits(const char* p);

  /// Reads rows from `p` on, not behind `stop`, from where on a row of 64 bytes can be read. `expected` is the time of the first
  /// of them, and becomes that of the row behind. How many were read; `p` moves on by as many.
  template <bool timed>
  std::uint64_t take(const char*& p, const char* stop, TimeText& expected, float* values) const {
    if (scientific_) return bare_ ? take_as<timed, true, true>(p, stop, expected, values) : take_as<timed, true, false>(p, stop, expected, values);
    return bare_ ? take_as<timed, false, true>(p, stop, expected, values) : take_as<timed, false, false>(p, stop, expected, values);
  }

 private:
  /// What has to stand behind the digits, and the power of ten of the last one with the sign of the number.
  struct Ending {
    std::uint64_t text = 0;
    double scale = 1;
  };
  void lay_out(int whole_digits);
  template <bool timed, bool scientific, bool bare>
  std::uint64_t take_as(const char*& p, const char* stop, TimeText& expected, float* values) const;

  bool usable_ = false, scientific_ = false;
  bool bare_ = false;  ///< one byte between the numbers and none before them
  char decimal_ = '.';
  int decimals_ = 0, whole_digits_ = 0;
  Literal before_time_, before_value_;
  std::ptrdiff_t digits_length_ = 0, ending_length_ = 0;
  std::uint64_t ending_mask_ = 0;
  // By the place of a byte in two numbers, and by the pairs and halves of one number.
  std::array<std::uint8_t, 16> plain_{}, most_{};  ///< the bytes of 0s and of the point; what they may differ by
  std::array<std::int16_t, 8> digit_weights_{}, pair_weights_{}, half_weights_{};
  /// By the place of the exponent: of positive numbers, of negative ones, and for bytes that are no sign, which fit nothing.
  std::array<Ending, 3 * ValueForm::places> endings_{};
};

}  // namespace pulsewright::importers::text
