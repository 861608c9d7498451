#pragma once
// One block of whole lines -> its rows. Used by one thread at a time; buffers are kept from block to block.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "importers/text/number.hpp"
#include "importers/text/rows.hpp"

namespace pulsewright::importers::text {

struct CellError {
  std::size_t offset;  ///< of the line, in the text
  std::size_t column;
  std::string expected, found;
};

/// Rows whose times lie on a straight line.
struct TimeRun {
  std::uint64_t rows;
  double first, last;
};

class BlockReader {
 public:
  BlockReader(std::string_view text, const Layout& layout);

  /// Reads the lines in [begin, end).
  void read(std::size_t begin, std::size_t end);

  // What the block held.
  std::uint64_t rows = 0, empty_rows = 0, unknown_states = 0, text_lines = 0;
  std::vector<std::vector<float>> values;       ///< the first `rows` of each count
  std::vector<std::vector<LogicEvent>> events;  ///< rows counted from the start of the block
  std::vector<TimeRun> times;
  std::vector<std::uint64_t> breaks;
  double companion_shift_max_s = 0;
  std::optional<CellError> error;
  std::optional<std::size_t> not_bits;
  bool cut_row = false;  ///< the last line of the text was incomplete and is left out

 private:
  struct Step {
    const Column* column;
    std::size_t skip;      ///< separators before it
    std::size_t slot = 0;  ///< of values or events
    ScientificForm form;
  };

  void prepare_even_rows();
  const char* even_rows(const char* p, const char* end);
  const char* quick_row(const char* p, const char* end);
  const char* quick_time(const Step& step, const char* p, const char* end);
  const char* quick_value(const Step& step, const char* p, const char* end);
  const char* quick_bit(const Step& step, const char* p, const char* end);
  void slow_row(std::string_view line, std::size_t offset, bool last_and_open);
  bool slow_cells(const std::vector<std::string_view>& cells, std::size_t offset);
  bool slow_time(const Step& step, std::string_view cell);
  bool slow_bit(const Step& step, std::string_view cell);
  bool is_between_records(const std::vector<std::string_view>& cells) const;
  bool looks_cut(std::string_view line, const std::vector<std::string_view>& cells) const;
  void fail(std::size_t offset, const Step& step, std::string_view cell);
  void keep_row();

  std::string_view text_;
  const Layout& layout_;
  std::vector<Step> steps_;
  std::vector<float> row_values_;
  std::vector<int> row_bits_, last_bits_;
  bool has_even_form_ = false;  ///< time and values, nothing between
  double row_time_ = 0, row_shift_ = 0;
};

}  // namespace pulsewright::importers::text
