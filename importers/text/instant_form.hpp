#pragma once
// Dates and seconds far from zero, fast, where only the fraction of the second changes.

#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

#include "importers/text/cell.hpp"
#include "importers/text/number.hpp"

namespace pulsewright::importers::text {

/// Cells that differ in the fraction of the second only, read fast.
class InstantForm {
 public:
  InstantForm() = default;
  /// The form of a cell that stamp_in or instant_in reads; without one where it is out of the ordinary.
  InstantForm(std::string_view cell, bool is_stamp, char decimal);

  /// The instant in the cell at `p`, of which 64 bytes can be read, and where it ends; null when it has another form.
  const char* take(const char* p, Instant& instant) const {
    if (head_.empty() || std::memcmp(p, head_.data(), head_.size()) != 0) return nullptr;
    p += head_.size();
    std::uint64_t digits = 0;
    int count = detail::append_digits(p, digits);
    if (count == 8) count += detail::append_digits(p + 8, digits);
    p += count;
    if (count == 0 || count > 15 || tail_.differs(p) != 0) return nullptr;
    while (count < 8) digits *= 10, ++count;
    instant = {seconds_, static_cast<std::int64_t>(digits * detail::integer_powers[static_cast<std::size_t>(15 - count)])};
    return p + tail_.length();
  }

 private:
  static constexpr std::size_t longest = 32;
  std::string head_;  ///< up to and with the decimal point; empty: no form
  Literal tail_;      ///< the zone
  std::int64_t seconds_ = 0;
};

}  // namespace pulsewright::importers::text
