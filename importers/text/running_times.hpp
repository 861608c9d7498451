#pragma once
// Times of rows with even steps: the text of the next one is predicted from the two before and compared byte by byte.

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "importers/text/number.hpp"

namespace pulsewright::importers::text {

/// Rows whose times lie on a straight line.
struct TimeRun {
  std::uint64_t rows;
  double first, last;
};

/// The cell of the next time as it has to stand in the text, up to and with the byte behind it. The last eight bytes of the
/// digits are kept as one decimal number with a digit a byte; the bytes around it stay the same.
class TimeText {
 public:
  /// How many cells are predicted, the next one and those behind it: then the steps change bytes further left.
  std::uint64_t left() const { return left_; }
  bool known() const { return left_ != 0; }

  /// Whether the cell at `p` is the predicted one. Reads up to 16 bytes before it: for cells behind the one predicted from.
  bool matches(const char* p) const {
    const char* const low_at = p + low_at_;
    return (((detail::swapped(detail::load8(low_at)) ^ low_ ^ literal_) & low_mask_) | ((detail::load8(low_at - 8) ^ high_) & high_mask_) |
            ((detail::load8(low_at + 8) ^ tail_) & tail_mask_) | static_cast<std::uint64_t>(left_ == 0)) == 0;
  }

  /// One cell on, of those predicted.
  void advance() { low_ = stepped(low_), --left_; }

  /// The next cells for comparison four at a time.
  struct Ahead {
    std::ptrdiff_t changing_at;                              ///< first of the eight bytes that change, in the cell
    std::uint64_t before, before_mask, behind, behind_mask;  ///< the eight bytes before and behind those, and which belong to the cell
    std::uint64_t literal, mask;                             ///< what the text differs by from the digits, and which bytes belong to the cell
    std::array<std::uint64_t, 4> digits;                     ///< of the next four, the last one in the lowest byte
    std::uint64_t step, point;                               ///< as `advance` adds and sets them, from each to the fourth behind it
  };
  Ahead ahead() const;
  /// As many cells on, to one of these digits.
  void advance_to(std::uint64_t digits, std::uint64_t cells) { low_ = digits, left_ -= cells; }

  /// Length of the cell and the byte behind it.
  std::ptrdiff_t length() const { return length_; }

  /// The cell one step of `step` units of the last digit behind the one at [p, end), which `number` describes.
  void predict(const char* p, const char* end, const Decimal& number, std::int64_t step, const char* readable_begin);

  void forget() { left_ = 0; }

  static constexpr std::uint64_t no_carry = 0xf6f6f6f6f6f6f6f6u;  ///< makes a byte overflow at ten

 private:
  /// Bytes below ten keep what makes them overflow: it is taken away.
  std::uint64_t stepped(std::uint64_t digits) const {
    const std::uint64_t sum = digits + step_;
    return (sum - ((sum >> 7) & 0x0101010101010101u) * 0xf6) | point_;
  }

  std::uint64_t left_ = 0;
  std::uint64_t low_ = 0, step_ = 0, point_ = 0, literal_ = 0, low_mask_ = 0;
  std::uint64_t high_ = 0, high_mask_ = 0, tail_ = 0, tail_mask_ = 0;
  std::ptrdiff_t low_at_ = 0, length_ = 0;
};

/// Takes one time after the other and keeps them as runs on straight lines.
class RunningTimes {
 public:
  RunningTimes(double scale, char decimal) : scale_(scale), decimal_(decimal) {}

  /// Cells from now on start behind `readable_begin`, and at least 64 bytes can be read behind their start.
  void begin_block(const char* readable_begin, std::vector<TimeRun>& runs);

  /// Any plain time; where it ends, or null when it is not plain. The byte behind it is expected behind the next one too.
  const char* take(const char* p);
  /// The expected time, or else any plain one; the same otherwise.
  const char* take_expected(const char* p) {
    if (!expected_.known() || !expected_.matches(p)) return take(p);
    const char* const end = p + expected_.length() - 1;
    expected_.advance();
    ++rows_;
    return end;
  }
  /// A time in seconds that was read otherwise.
  void add_alone(double time_s);

  TimeText& expected() { return expected_; }
  /// Adds times that were as expected.
  void took_expected(std::uint64_t count) { rows_ += count; }
  /// Takes back the last time.
  void drop_last() { --rows_, expected_.forget(); }
  void close();

 private:
  double time(std::int64_t digits) const { return scale_(detail::scaled_by_ten(static_cast<double>(digits), power_)); }
  bool on_line(const Decimal& number);
  void start(const Decimal& number);

  Scale scale_;
  char decimal_;
  const char* readable_begin_ = nullptr;
  std::vector<TimeRun>* runs_ = nullptr;
  TimeText expected_;
  std::uint64_t rows_ = 0;
  std::int64_t first_ = 0, step_ = 0;  ///< digits as printed
  int power_ = 0;                      ///< of ten, of their last digit
  bool has_step_ = false;              ///< from this run or the one before
};

}  // namespace pulsewright::importers::text
