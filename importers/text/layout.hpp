#pragma once
// What each column is and how the rows are to be read.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "importers/content.hpp"
#include "importers/import.hpp"
#include "importers/text/columns.hpp"
#include "importers/text/header.hpp"

namespace pulsewright::importers::text {

enum class Role {
  ignore,
  time,
  companion_time,  ///< time column of a later channel; has to agree with the first
  value,
  logic,
};

inline bool is_time(Role role) { return role == Role::time || role == Role::companion_time; }

struct Column {
  std::size_t index = 0;  ///< in the line
  Role role = Role::ignore;
  std::string name;
  std::string unit;        ///< of what is handed over
  std::string unknown_unit;  ///< what the file states instead of a unit
  double scale = 1;        ///< from the file's unit to that one
  bool units_in_cells = false;  ///< each number has its unit behind it
  ChannelKind kind = ChannelKind::analog;
  bool envelope_of_previous = false;  ///< other extreme of the channel before
  double low = 0, high = 1;           ///< logic: the two numbers that stand for the states
};

enum class TimeKind {
  none,     ///< samples are counted
  number,
  instant,  ///< numbers far from zero, subtracted in integers
  stamp,    ///< date and time of day
};

/// The first cell of a column of 0 and 1 that is neither.
struct OddBit {
  std::size_t column = 0;  ///< in the line, counted from 0
  std::uint64_t line = 0;
  std::string cell;        ///< quoted
};

struct Layout {
  Grid grid;
  std::size_t data_begin = 0;  ///< offset of the first row
  std::string first_rows;      ///< as they stand in the text, a few KiB at most
  std::string last_row;        ///< the last line that ends in a line break
  std::vector<Column> columns;  ///< by rising index
  std::size_t row_cells = 0;    ///< of nearly every row, up to the first empty one; a number behind them belongs nowhere
  TimeKind time = TimeKind::none;
  double time_scale = 1;
  double last_digit_s = 0;  ///< resolution of the printed times; 0 for counted ones
  bool counted = false;     ///< the time column counts samples of `time_scale` each
  Instant origin;           ///< of instants and stamps
  std::string time_rule;    ///< how times are made when not printed as such, e.g. "index / rate column"
  bool change_list = false; ///< rows are changes, not samples
  std::size_t rows_per_sample = 1;  ///< 2: each instant has a row for both extremes
  Metadata metadata;
  std::string dialect;
  std::vector<std::string> notes;
};

struct LayoutHints {
  bool as_changes = false;         ///< the times are no even grid: two-valued columns are logic
  std::vector<OddBit> not_bits;      ///< in columns that looked like 0 and 1 at first
};

/// Throws ImportError when the text is no waveform or its time base cannot be told.
Layout make_layout(const std::string& file, const Content& text, const ImportOptions& options, const LayoutHints& hints);

}  // namespace pulsewright::importers::text
