#include "importers/text/rows.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <condition_variable>
#include <exception>
#include <limits>
#include <mutex>
#include <thread>

#include "importers/import_error.hpp"
#include "importers/text/block.hpp"

namespace pulsewright::importers::text {

namespace {

constexpr std::size_t block_bytes = std::size_t{512} << 10;

/// Start of the first line that begins at or behind `at`.
std::size_t line_start(std::string_view text, std::size_t first, std::size_t at) {
  if (at <= first) return first;
  const auto end = text.find('\n', at - 1);
  return end == std::string_view::npos ? text.size() : end + 1;
}

/// One time a row.
std::vector<double> each_time(const std::vector<TimeRun>& runs) {
  std::vector<double> times;
  for (const TimeRun& run : runs) {
    times.push_back(run.first);
    const double step = run.rows > 1 ? (run.last - run.first) / static_cast<double>(run.rows - 1) : 0;
    for (std::uint64_t i = 1; i < run.rows; ++i) times.push_back(i + 1 == run.rows ? run.last : run.first + step * static_cast<double>(i));
  }
  return times;
}

/// How far a step may be from the interval: both ends are rounded, and two rows a sample have steps of 0 and 2.
double step_slack(const Layout& layout, double interval_s) {
  return 1.1 * layout.last_digit_s + (layout.rows_per_sample == 2 ? 2.1 : 0.12) * interval_s;
}

/// Interval of the first rows when they are even within the printed digits, else 0.
double expected_interval(std::string_view text, const Layout& layout) {
  if (layout.time == TimeKind::none) return 0;
  BlockReader reader(text, layout);
  reader.read(layout.data_begin, line_start(text, layout.data_begin, std::min(text.size(), layout.data_begin + (std::size_t{64} << 10))));
  const auto t = each_time(reader.times);
  if (t.size() < 3) return 0;
  const double mean = (t.back() - t.front()) / static_cast<double>(t.size() - 1);
  const double slack = step_slack(layout, mean);
  for (std::size_t i = 1; i < t.size(); ++i)
    if (std::abs(t[i] - t[i - 1] - mean) > slack) return 0;
  return mean > 0 ? mean : 0;
}

TimeBlock summary(const BlockReader& reader, double expected_s, const Layout& layout) {
  TimeBlock block;
  const auto& runs = reader.times;
  block.rows = reader.rows;
  block.first = runs.front().first;
  block.last = runs.back().last;
  const double slope = block.rows > 1 ? (block.last - block.first) / static_cast<double>(block.rows - 1) : 0;
  double low = std::numeric_limits<double>::infinity(), high = -low, off = 0, before = block.first;
  std::uint64_t row = 0;
  for (const TimeRun& run : runs) {
    const auto note_step = [&](double step) { low = std::min(low, step), high = std::max(high, step); };
    const auto note_place = [&](double time, std::uint64_t at) { off = std::max(off, std::abs(time - (block.first + slope * static_cast<double>(at)))); };
    if (row > 0) note_step(run.first - before);
    if (run.rows > 1) note_step((run.last - run.first) / static_cast<double>(run.rows - 1));
    note_place(run.first, row);
    note_place(run.last, row + run.rows - 1);
    row += run.rows;
    before = run.last;
  }
  if (block.rows < 2) low = high = expected_s;
  block.step_min = low;
  block.step_max = high;
  block.off_line = off;
  const double slack = step_slack(layout, expected_s);
  const bool even = expected_s > 0 && low >= std::max(0.0, expected_s - slack) && high <= expected_s + slack;
  if (!even || !reader.breaks.empty()) block.times = each_time(runs);
  return block;
}

/// Puts blocks together in their order.
class Collector {
 public:
  Collector(Rows& rows, const Content& text, const Layout& layout, const ImportOptions& options)
      : rows_(rows), text_(text), layout_(layout), options_(options) {
    std::size_t values = 0, logic = 0;
    for (const Column& column : layout.columns) {
      values += column.role == Role::value;
      logic += column.role == Role::logic;
    }
    rows_.values.resize(values);
    rows_.events.resize(logic);
  }

  /// Waits for the turn of block `index`; false when reading has stopped.
  bool commit(std::size_t index, BlockReader& reader, std::size_t begin, std::size_t end) {
    std::optional<TimeBlock> times;
    if (layout_.time != TimeKind::none && reader.rows > 0) times = summary(reader, rows_.expected_interval_s, layout_);
    std::unique_lock lock(mutex_);
    turn_.wait(lock, [&] { return next_ == index || stopped_; });
    if (stopped_) return false;
    append(reader, std::move(times), begin, end);
    if (reader.error || reader.not_bits) stopped_ = true, error = reader.error, not_bits = reader.not_bits;
    ++next_;
    turn_.notify_all();
    if (options_.progress && next_ % 16 == 0) options_.progress(static_cast<double>(end) / static_cast<double>(text_.bytes.size()));
    return !stopped_;
  }

  void stop(std::exception_ptr problem) {
    const std::scoped_lock lock(mutex_);
    stopped_ = true;
    if (!failure) failure = problem;
    turn_.notify_all();
  }

  std::optional<CellError> error;
  std::optional<std::size_t> not_bits;
  std::exception_ptr failure;

 private:
  void append(BlockReader& reader, std::optional<TimeBlock> times, std::size_t begin, std::size_t end) {
    make_room(reader, begin, end);
    for (std::size_t c = 0; c < rows_.values.size(); ++c)
      rows_.values[c].insert(rows_.values[c].end(), reader.values[c].begin(), reader.values[c].begin() + static_cast<std::ptrdiff_t>(reader.rows));
    for (std::size_t c = 0; c < rows_.events.size(); ++c)
      for (LogicEvent event : reader.events[c]) {
        event.row += rows_.rows;
        if (rows_.events[c].empty() || rows_.events[c].back().high != event.high || breaks_at(event.row)) rows_.events[c].push_back(event);
      }
    for (const auto row : reader.breaks) rows_.breaks.push_back(rows_.rows + row);
    if (times) {
      times->first_row = rows_.rows;
      rows_.times.push_back(std::move(*times));
    }
    rows_.rows += reader.rows;
    rows_.empty_rows += reader.empty_rows;
    rows_.unknown_states += reader.unknown_states;
    rows_.text_lines += reader.text_lines;
    rows_.companion_shift_max_s = std::max(rows_.companion_shift_max_s, reader.companion_shift_max_s);
    if (reader.cut_row)
      rows_.notes.push_back("the file ends in mid-row: used up to the cut, " + std::to_string(rows_.rows) + " rows");
    text_.release(begin, end);
  }

  bool breaks_at(std::uint64_t row) const { return !rows_.breaks.empty() && rows_.breaks.back() == row; }

  /// Space for the whole column from the rows so far and their share of the bytes; memory is used as it fills.
  void make_room(const BlockReader& reader, std::size_t begin, std::size_t end) {
    if (rows_.values.empty() || reader.rows == 0) return;
    const std::size_t need = rows_.rows + reader.rows;
    check_limit(need);
    if (need <= rows_.values.front().capacity()) return;
    const double per_byte = static_cast<double>(reader.rows) / static_cast<double>(std::max<std::size_t>(end - begin, 1));
    const auto guess = static_cast<std::size_t>(per_byte * 1.04 * static_cast<double>(text_.bytes.size() - begin)) + rows_.rows + 16;
    for (auto& column : rows_.values) column.reserve(std::max(guess, need));
  }

  void check_limit(std::size_t need) const {
    if (options_.memory_limit_bytes != 0 && need * rows_.values.size() * sizeof(float) > options_.memory_limit_bytes) throw std::bad_alloc();
  }

  Rows& rows_;
  const Content& text_;
  const Layout& layout_;
  const ImportOptions& options_;
  std::mutex mutex_;
  std::condition_variable turn_;
  std::size_t next_ = 0;
  bool stopped_ = false;
};

void work(const Content& text, const Layout& layout, std::atomic<std::size_t>& next, Collector& collector) {
  try {
    BlockReader reader(text.bytes, layout);
    const std::size_t first = layout.data_begin;
    for (;;) {
      const std::size_t index = next++;
      if (first + index * block_bytes >= text.bytes.size()) return;
      const auto begin = line_start(text.bytes, first, first + index * block_bytes);
      const auto end = line_start(text.bytes, first, std::min(text.bytes.size(), first + (index + 1) * block_bytes));
      reader.read(begin, std::max(begin, end));
      if (!collector.commit(index, reader, begin, std::max(begin, end))) return;
    }
  } catch (...) {
    collector.stop(std::current_exception());
  }
}

}  // namespace

Rows read_rows(const std::string& file, const Content& text, const Layout& layout, const ImportOptions& options) {
  Rows rows;
  rows.expected_interval_s = expected_interval(text.bytes, layout);
  Collector collector(rows, text, layout, options);
  std::atomic<std::size_t> next{0};
  const std::size_t blocks = (text.bytes.size() - layout.data_begin) / block_bytes + 1;
  const unsigned wanted = options.threads != 0 ? options.threads : std::max(1u, std::thread::hardware_concurrency());
  std::vector<std::jthread> helpers;
  for (unsigned i = 1; i < std::min<std::size_t>({wanted, blocks, 64}); ++i)
    helpers.emplace_back([&] { work(text, layout, next, collector); });
  work(text, layout, next, collector);
  helpers.clear();
  if (collector.failure) std::rethrow_exception(collector.failure);
  if (collector.not_bits) throw NotBits(*collector.not_bits);
  if (collector.error) {
    const auto& error = *collector.error;
    const auto lines = std::count(text.bytes.begin(), text.bytes.begin() + static_cast<std::ptrdiff_t>(error.offset), '\n');
    throw ImportError(ImportError::Kind::unusable_data, file, {.line = static_cast<std::uint64_t>(lines) + 1, .column = error.column, .byte = {}},
                      error.expected, error.found);
  }
  return rows;
}

}  // namespace pulsewright::importers::text
