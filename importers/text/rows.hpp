#pragma once
// The rows of a table, read in parallel: values kept as float, times checked and kept only where they are uneven.

#include <cstdint>
#include <stdexcept>
#include <string>
#include <vector>

#include "importers/capture.hpp"
#include "importers/content.hpp"
#include "importers/import.hpp"
#include "importers/text/layout.hpp"

namespace pulsewright::importers::text {

/// Times of a stretch of rows.
struct TimeBlock {
  std::uint64_t first_row = 0, rows = 0;
  double first = 0, last = 0, step_min = 0, step_max = 0;
  double off_line = 0;        ///< largest distance from the straight line through first and last
  std::vector<double> times;  ///< empty when every step is near the expected one, or none is looked for and they rise
};

/// A level from one row on, in 16 bytes.
class LogicEvent {
 public:
  LogicEvent(std::uint64_t row, double time_s_, bool high) : time_s(time_s_), row_and_level_(2 * row + high) {}
  std::uint64_t row() const { return row_and_level_ / 2; }
  bool high() const { return row_and_level_ % 2 == 1; }
  void move_by(std::uint64_t rows) { row_and_level_ += 2 * rows; }

  double time_s;

 private:
  std::uint64_t row_and_level_;
};

struct Rows {
  std::uint64_t rows = 0;
  std::vector<Samples> values;                  ///< one for each column of role value
  std::vector<std::vector<LogicEvent>> events;  ///< one for each column of role logic
  std::vector<TimeBlock> times;
  std::vector<std::uint64_t> breaks;  ///< the record is interrupted before this row
  std::vector<std::uint64_t> word_breaks;  ///< words stand before this row: the record ends there unless the times go on
  std::uint64_t empty_rows = 0, unknown_states = 0, text_lines = 0;
  double companion_shift_max_s = 0;   ///< largest difference between the time columns
  std::uint64_t companion_shift_row = 0;
  double expected_interval_s = 0;     ///< from the first rows; 0 when these are uneven
  std::vector<std::string> notes;
};

/// A column of 0 and 1 turned out to hold something else.
struct NotBits : std::runtime_error {
  explicit NotBits(const OddBit& odd_) : std::runtime_error("not bits"), odd(odd_) {}
  OddBit odd;
};

/// Line, counted from 1, in which byte `offset` of the text stands.
std::uint64_t line_number(const Content& text, std::size_t offset);

/// Line of row `row` of the samples, counted from 0, or the last line where there are fewer. Reads the text up to it again.
std::uint64_t line_of_row(const Content& text, const Layout& layout, std::uint64_t row);

/// Throws ImportError at the first cell that cannot be read, NotBits when the layout has to be made anew.
Rows read_rows(const std::string& file, const Content& text, const Layout& layout, const ImportOptions& options);

}  // namespace pulsewright::importers::text
