#pragma once
// Times of rows with even steps: the text of the next one is predicted from the two before and compared byte by byte.

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
  /// A next cell is predicted, for this step at least.
  bool known() const { return unknown_ == 0; }

  /// Whether the cell at `p` is the predicted one. Reads up to 16 bytes before it: for cells behind the one predicted from.
  bool matches(const char* p) const {
    const char* const low_at = p + low_at_;
    return (((detail::swapped(detail::load8(low_at)) ^ low_ ^ literal_) & low_mask_) | ((detail::load8(low_at - 8) ^ high_) & high_mask_) |
            ((detail::load8(low_at + 8) ^ tail_) & tail_mask_) | unknown_) == 0;
  }

  /// The bytes beside the changing ones: eight before and eight behind, those that belong to the cell and the byte behind it.
  struct Beside {
    std::ptrdiff_t changing_at;  ///< first of the eight that change, in the cell
    std::uint64_t before, before_mask, behind, behind_mask;
  };
  Beside beside() const { return {low_at_, high_, high_mask_, tail_, tail_mask_}; }
  /// How the changing bytes at `p` differ from the predicted ones; may be gathered over several cells.
  std::uint64_t differences(const char* p) const { return detail::swapped(detail::load8(p)) ^ low_ ^ literal_; }
  /// Whether all those cells, the last of which is the one at hand, were predicted, and had those changing bytes.
  bool none(std::uint64_t gathered_differences) const { return ((gathered_differences & low_mask_) | unknown_) == 0; }

  /// One step on. Not known any more where the step changes bytes further left.
  void advance() {
    const std::uint64_t sum = low_ + step_;
    unknown_ |= static_cast<std::uint64_t>(sum < step_) ^ carries_;
    low_ = (sum - ((sum >> 7) & 0x0101010101010101u) * 0xf6) | point_;
  }

  /// Length of the cell and the byte behind it.
  std::ptrdiff_t length() const { return length_; }

  /// The cell one step of `step` units of the last digit behind the one at [p, end), which `number` describes.
  void predict(const char* p, const char* end, const Decimal& number, std::int64_t step, const char* readable_begin);

  void forget() { unknown_ = 1; }

 private:
  std::uint64_t unknown_ = 1, carries_ = 0;
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
