#pragma once
// One block of whole lines -> its rows.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "importers/content.hpp"
#include "importers/text/rows.hpp"
#include "importers/text/running_times.hpp"
#include "importers/text/value_form.hpp"

namespace pulsewright::importers::text {

struct CellError {
  std::size_t offset;  ///< of the line, in the text
  std::size_t column;
  std::string expected, found;
};

/// What a block held. Its buffers are used again for another block.
/// A cell in a column of 0 and 1 that is neither.
struct BitError {
  std::size_t offset, column;
  std::string found;
};

struct BlockRows {
  std::uint64_t rows = 0, empty_rows = 0, unknown_states = 0, text_lines = 0;
  std::vector<Samples> values;                  ///< the first `rows` of each count
  std::vector<std::vector<LogicEvent>> events;  ///< rows counted from the start of the block
  std::vector<TimeRun> times;
  std::vector<double> single_times;  ///< instead of runs where there are only logic columns: their rows are uneven mostly
  std::vector<std::uint64_t> breaks, word_breaks;
  double companion_shift_max_s = 0;
  std::uint64_t companion_shift_row = 0;
  std::optional<CellError> error;
  std::optional<BitError> not_bits;
  bool cut_row = false;  ///< the last line of the text was incomplete and is left out

  void clear(std::size_t value_columns, std::size_t logic_columns, std::size_t most_rows);
};

/// Used by one thread at a time.
class BlockReader {
 public:
  explicit BlockReader(const Layout& layout);

  /// Bytes that should be readable behind a block, for speed.
  std::size_t wanted_behind() const { return 64 * (steps_.size() + 1); }

  /// Reads the lines of the block, which start at `offset` of the text and end with it where `ends_text`.
  void read(const Block& block, std::size_t offset, bool ends_text, BlockRows& result);

 private:
  struct Step {
    const Column* column;
    std::size_t skip;      ///< separators before it
    std::size_t slot = 0;  ///< of values or events
    ValueForm form;
  };

  void prepare_line_end();
  void prepare_even_rows();
  void prepare_logic_rows();
  const char* even_rows(const char* p);
  const char* logic_rows(const char* p);
  template <bool timed, ValueNotation alone>
  const char* even_rows_as(const char* p);
  const char* even_value(const Step& step, const char* q, float& value, std::uint64_t& wrong) const;
  const char* quick_row(const char* p);
  const char* quick_time(const Step& step, const char* p);
  const char* quick_value(const Step& step, const char* p);
  const char* quick_bit(const Step& step, const char* p);
  template <class Number>
  const char* number_at(const char* p, Number& value) const;
  void slow_row(std::string_view line, bool last_and_open);
  bool slow_cells(const std::vector<std::string_view>& cells, std::size_t offset);
  std::optional<double> number_of(const Column& column, std::string_view cell) const;
  /// A value so large that it stands for none: told by the slow way.
  bool has_no_value() const;
  bool is_row(const std::vector<std::string_view>& cells) const;
  void refuse_other_columns(const std::vector<std::string_view>& cells, std::size_t offset);
  bool slow_time(const Step& step, std::string_view cell);
  bool slow_bit(const Step& step, std::string_view cell);
  bool ends_as_usual(const char* p, const char* line_end) const;
  bool is_between_records(const std::vector<std::string_view>& cells) const;
  bool looks_cut(const std::vector<std::string_view>& cells) const;
  void fail(std::size_t offset, std::size_t column, const std::string& expected, std::string_view cell);
  void keep_row();

  bool slowly_ = false;  ///< no quick ways
  const Layout& layout_;
  std::vector<Step> steps_;
  std::size_t value_columns_ = 0, logic_columns_ = 0;
  std::vector<float> row_values_;
  std::vector<int> row_bits_, last_bits_;
  bool has_even_form_ = false;   ///< time and values, nothing between
  bool has_logic_form_ = false;  ///< time and bits, nothing between
  std::uint64_t line_end_ = 0, line_end_mask_ = 0;  ///< bytes behind the last value
  std::ptrdiff_t line_end_length_ = 0;
  double row_time_ = 0, row_shift_ = 0;

  // Of the block being read.
  BlockRows* out_ = nullptr;
  const char* begin_ = nullptr;
  const char* end_ = nullptr;
  const char* readable_begin_ = nullptr;
  const char* quick_end_ = nullptr;  ///< no quick way for cells that start here or behind
  std::size_t offset_ = 0;
};

}  // namespace pulsewright::importers::text
