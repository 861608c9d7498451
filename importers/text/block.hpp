#pragma once
// One block of whole lines -> its rows.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "importers/content.hpp"
#include "importers/text/four_rows.hpp"
#include "importers/text/instant_form.hpp"
#include "importers/text/rows.hpp"
#include "importers/text/running_times.hpp"
#include "importers/text/value_form.hpp"

namespace pulsewright::importers::text {

struct CellError {
  std::size_t offset;  ///< of the line, in the text
  std::size_t column;
  std::string expected, found;
};

/// A cell in a column of 0 and 1 that is neither.
struct BitError {
  std::size_t offset, column;
  std::string found;
};

/// What a block held. Its buffers are used again for another block.
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
    std::size_t skip;  ///< separators before it
    Scale scale;
    std::optional<Literal> gap{};  ///< between the number before and this one, in the first row
    bool gap_opens_quotes = false;
    std::size_t slot = 0;  ///< of values or events
    ValueForm form{};
    std::optional<Literal> unit{};  ///< behind the number of the row before, where cells have units
    Scale unit_scale{1};
    const char *begin = nullptr, *end = nullptr;  ///< of the number in the quick row read last
  };

  void prepare_special_rows();
  void learn_gaps();
  const char* even_rows(const char* p);
  const char* logic_rows(const char* p);
  template <bool timed>
  const char* even_rows_of(const char* p);
  template <bool timed, ValueNotation notation, bool alone>
  const char* even_rows_as(const char* p);
  const char* value_at(const Step& step, const char* p, float& value) const;
  const char* formed_value(const Step& step, const char* p, float& value, std::uint64_t& wrong) const;
  void prepare_quick_rows();
  const char* quick_rows(const char* p, std::size_t most);
  const char* quick_row(const char* p);
  const char* skip_blanks(const char* p) const;
  const char* behind_cells(const char* p, std::size_t count) const;
  const char* number_behind(const Step& step, const char* p);
  const char* cell_end(const char* p) const;
  const char* next_row(const char* p) const;
  const char* quick_time(Step& step, const char* p);
  const char* quick_value(Step& step, const char* p);
  const char* quick_bit(const Step& step, const char* p);
  const char* quick_instant(const char* p, double& time_s);
  template <class Number>
  const char* number_at(const Step& step, const char* p, Number& value) const;
  const char* number_with_unit(Step& step, const char* p, double& value) const;
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
  void keep_time();
  void keep_row();

  bool slowly_ = false;  ///< no quick ways
  const Layout& layout_;
  std::vector<Step> steps_;
  std::size_t value_columns_ = 0, logic_columns_ = 0;
  std::vector<int> row_bits_, last_bits_;
  InstantForm instant_form_;
  bool has_running_times_ = false;  ///< the time of quick rows goes to `times_`
  bool time_is_kept_ = false;       ///< that of the quick row being read has
  bool has_even_form_ = false;   ///< time and values, the same bytes between them in most rows
  FourRows four_rows_;           ///< for the even form, where there is one value
  bool has_logic_form_ = false;  ///< time and bits, likewise
  bool in_quotes_ = false;       ///< the number of the quick row being read
  std::optional<Literal> line_end_;  ///< behind the last number of the first row
  double row_time_ = 0, row_shift_ = 0;

  // Of the block being read.
  RunningTimes times_;
  BlockRows* out_ = nullptr;
  const char* begin_ = nullptr;
  const char* end_ = nullptr;
  const char* readable_begin_ = nullptr;
  const char* quick_end_ = nullptr;  ///< no quick way for cells that start here or behind
  std::size_t offset_ = 0;
};

template <class Number>
const char* BlockReader::number_at(const Step& step, const char* p, Number& value) const {
  return p < quick_end_ && step.form.notation() != ValueNotation::longer ? take_any_value(p, end_, layout_.grid.decimal, value) : read_plain(p, end_, layout_.grid.decimal, value);
}

/// A plain number in the unit of its column. Null also where it is beyond the range of a float.
inline const char* BlockReader::value_at(const Step& step, const char* p, float& value) const {
  if (step.scale.is_one()) return number_at(step, p, value);
  double exact = 0;
  const char* const behind = number_at(step, p, exact);
  value = static_cast<float>(step.scale(exact));
  return std::isfinite(value) ? behind : nullptr;
}

/// A number in the form of its column, of which 64 bytes can be read. `wrong` gets other bits than zero when it has another
/// form, and then value and return mean nothing.
inline const char* BlockReader::formed_value(const Step& step, const char* p, float& value, std::uint64_t& wrong) const {
  const ValueForm& form = step.form;
  if (form.notation() == ValueNotation::scientific) return form.take_scientific(p, value, wrong);
  if (form.notation() == ValueNotation::fixed) return form.take_fixed(p, layout_.grid.decimal, value, wrong);
  const char* const behind = value_at(step, p, value);
  wrong |= static_cast<std::uint64_t>(behind == nullptr);
  return behind == nullptr ? p : behind;
}

}  // namespace pulsewright::importers::text
