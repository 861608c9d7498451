#include "importers/text/rows.hpp"

#include <algorithm>
#include <cmath>
#include <condition_variable>
#include <exception>
#include <limits>
#include <map>
#include <mutex>
#include <new>
#include <optional>

#include "importers/import_error.hpp"
#include "importers/large_pages.hpp"
#include "importers/parallel.hpp"
#include "importers/text/block.hpp"

namespace pulsewright::importers::text {

namespace {

constexpr std::size_t block_bytes = std::size_t{256} << 10;

constexpr std::size_t overhang_bytes = std::size_t{4} << 10;  ///< read behind a block, for the rest of its last line
constexpr std::size_t longest_line = std::size_t{16} << 20;

/// A line is far longer than rows are.
struct LongLine {
  std::size_t offset;  ///< of its start
};

/// The lines that begin in one block of the text.
struct Lines {
  Block block;
  std::size_t offset = 0;
  bool ends_text = false;
};

/// Lines that begin in [begin, begin + count) of the text; `first` is where the first of all begins.
Lines lines_in(const Content& text, std::size_t first, std::size_t begin, std::size_t count, BlockBuffer& buffer) {
  const std::size_t from = begin > first ? begin - 1 : begin;
  const std::size_t to = std::min(text.size(), begin + count);
  for (std::size_t overhang = overhang_bytes;; overhang *= 4) {
    Block block = text.block(from, to - from + overhang, buffer);
    const auto own = block.bytes.substr(0, to - from);
    const auto before = begin > first ? own.find('\n') : std::string_view::npos;
    if (begin > first && (before == std::string_view::npos || before + 1 == own.size())) {
      block.bytes = {};
      return {block, to, false};
    }
    const std::size_t start = begin > first ? before + 1 : 0;
    const bool whole = from + block.bytes.size() == text.size();
    const auto end = block.bytes.find('\n', own.size() - 1);
    if (end == std::string_view::npos && !whole) {
      if (overhang > longest_line) throw LongLine{from + own.rfind('\n') + 1};
      continue;
    }
    block.bytes = block.bytes.substr(start, end == std::string_view::npos ? end : end + 1 - start);
    return {block, from + start, from + start + block.bytes.size() == text.size()};
  }
}

/// One time a row.
std::vector<double> each_time(const BlockRows& rows) {
  std::vector<double> times = rows.single_times;
  for (const TimeRun& run : rows.times) {
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
double expected_interval(const Content& text, const Layout& layout) {
  if (layout.time == TimeKind::none) return 0;
  BlockReader reader(layout);
  BlockRows rows;
  BlockBuffer buffer(reader.wanted_behind());
  const Lines lines = lines_in(text, layout.data_begin, layout.data_begin, std::size_t{64} << 10, buffer);
  reader.read(lines.block, lines.offset, lines.ends_text, rows);
  const auto t = each_time(rows);
  if (t.size() < 3) return 0;
  const double mean = (t.back() - t.front()) / static_cast<double>(t.size() - 1);
  const double slack = step_slack(layout, mean);
  for (std::size_t i = 1; i < t.size(); ++i)
    if (std::abs(t[i] - t[i - 1] - mean) > slack) return 0;
  return mean > 0 ? mean : 0;
}

TimeBlock summary(const BlockRows& reader, double expected_s, const Layout& layout, bool first) {
  TimeBlock block;
  const auto& runs = reader.times;
  const auto& singles = reader.single_times;
  block.rows = reader.rows;
  block.first = singles.empty() ? runs.front().first : singles.front();
  block.last = singles.empty() ? runs.back().last : singles.back();
  const double slope = block.rows > 1 ? (block.last - block.first) / static_cast<double>(block.rows - 1) : 0;
  double low = std::numeric_limits<double>::infinity(), high = -low, off = 0, before = block.first;
  std::uint64_t row = 0;
  const auto note_step = [&](double step) { low = std::min(low, step), high = std::max(high, step); };
  const auto note_place = [&](double time, std::uint64_t at) { off = std::max(off, std::abs(time - (block.first + slope * static_cast<double>(at)))); };
  for (std::size_t i = 1; i < singles.size(); ++i) {
    note_step(singles[i] - singles[i - 1]);
    note_place(singles[i], i);
  }
  for (const TimeRun& run : runs) {
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
  const bool rising_changes = expected_s == 0 && !singles.empty() && low >= 0 && !first;
  if ((!even && !rising_changes) || !reader.breaks.empty() || !reader.word_breaks.empty()) block.times = each_time(reader);
  return block;
}

/// Puts blocks together in their order, whichever is read first.
class Collector {
 public:
  Collector(Rows& rows, std::size_t text_bytes, const Layout& layout, const ImportOptions& options, std::size_t threads)
      : rows_(rows), text_bytes_(text_bytes), layout_(layout), options_(options), results_(3 * threads) {
    for (auto& result : results_) free_.push_back(&result);
    for (const Column& column : layout.columns) {
      if (column.role == Role::value) rows_.values.emplace_back();
      if (column.role == Role::logic) rows_.events.emplace_back();
    }
  }

  struct Turn {
    BlockRows* result = nullptr;  ///< null: reading has stopped
    std::size_t index = 0;
  };

  /// The next block to read and a place for its rows; waits while too many blocks wait for an earlier one.
  Turn next_block() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return stopped_ || !free_.empty(); });
    if (stopped_) return {};
    BlockRows* const result = free_.back();
    free_.pop_back();
    return {result, handed_out_++};
  }

  /// Takes the rows of a block and appends all whose turn it is.
  void take(const Turn& turn, std::size_t end) {
    std::optional<TimeBlock> times;
    if (layout_.time != TimeKind::none && turn.result->rows > 0) times = summary(*turn.result, rows_.expected_interval_s, layout_, turn.index == 0);
    std::unique_lock lock(mutex_);
    waiting_.emplace(turn.index, Waiting{turn.result, std::move(times), end});
    if (appending_) return;
    appending_ = true;
    while (!stopped_ && !waiting_.empty() && waiting_.begin()->first == appended_) {
      Waiting waiting = std::move(waiting_.begin()->second);
      waiting_.erase(waiting_.begin());
      lock.unlock();
      append(waiting);
      lock.lock();
      if (waiting.result->error || waiting.result->not_bits) stopped_ = true, error = waiting.result->error, not_bits = waiting.result->not_bits;
      free_.push_back(waiting.result);
      ++appended_;
      changed_.notify_all();
    }
    appending_ = false;
  }

  void stop(const std::exception_ptr& problem) {
    const std::scoped_lock lock(mutex_);
    stopped_ = true;
    if (!failure) failure = problem;
    changed_.notify_all();
  }

  std::optional<CellError> error;
  std::optional<BitError> not_bits;
  std::exception_ptr failure;

 private:
  struct Waiting {
    BlockRows* result;
    std::optional<TimeBlock> times;
    std::size_t end;  ///< of the block, in the text
  };

  void append(Waiting& waiting) {
    const BlockRows& block = *waiting.result;
    make_room(block, waiting.end);
    for (std::size_t c = 0; c < rows_.values.size(); ++c)
      rows_.values[c].insert(rows_.values[c].end(), block.values[c].begin(), block.values[c].begin() + static_cast<std::ptrdiff_t>(block.rows));
    for (std::size_t c = 0; c < rows_.events.size(); ++c) append_events(block.events[c], rows_.events[c]);
    for (const auto row : block.breaks) rows_.breaks.push_back(rows_.rows + row);
    for (const auto row : block.word_breaks) rows_.word_breaks.push_back(rows_.rows + row);
    if (waiting.times) {
      waiting.times->first_row = rows_.rows;
      held_times_ += waiting.times->times.size();
      rows_.times.push_back(std::move(*waiting.times));
    }
    if (block.companion_shift_max_s > rows_.companion_shift_max_s)
      rows_.companion_shift_max_s = block.companion_shift_max_s, rows_.companion_shift_row = rows_.rows + block.companion_shift_row;
    rows_.rows += block.rows;
    rows_.empty_rows += block.empty_rows;
    rows_.unknown_states += block.unknown_states;
    rows_.text_lines += block.text_lines;
    if (block.cut_row)
      rows_.notes.push_back("the last line has no line end and may be cut in mid-row: not used, " + std::to_string(rows_.rows) + " rows are");
    check_limit();
    if (options_.progress && appended_ % 16 == 0) options_.progress(static_cast<double>(waiting.end) / static_cast<double>(text_bytes_));
  }

  /// The first one repeats the level before, perhaps.
  void append_events(const std::vector<LogicEvent>& events, std::vector<LogicEvent>& all) const {
    if (events.empty()) return;
    const bool repeats = !all.empty() && all.back().high() == events.front().high() && !breaks_at(rows_.rows + events.front().row());
    const auto kept = all.insert(all.end(), events.begin() + repeats, events.end());
    for (auto event = kept; event != all.end(); ++event) event->move_by(rows_.rows);
  }

  bool breaks_at(std::uint64_t row) const { return !rows_.breaks.empty() && rows_.breaks.back() == row; }

  /// Space for the whole column from the rows so far and their share of the bytes; memory is used as it fills.
  void make_room(const BlockRows& block, std::size_t end) {
    const auto reserve = [&](auto& column, std::size_t more) {
      const std::size_t need = column.size() + more;
      if (more == 0 || need <= column.capacity()) return;
      const double per_byte = static_cast<double>(need) / static_cast<double>(std::max<std::size_t>(end - layout_.data_begin, 1));
      column.reserve(need + static_cast<std::size_t>(per_byte * 1.04 * static_cast<double>(text_bytes_ - end)) + 16);
      advise_large_pages(column.data(), column.capacity() * sizeof(column[0]));
    };
    for (auto& column : rows_.values) reserve(column, block.rows);
    for (std::size_t c = 0; c < rows_.events.size(); ++c) reserve(rows_.events[c], block.events[c].size());
  }

  /// All that grows with the rows: values, logic changes, times that are kept.
  void check_limit() const {
    if (options_.memory_limit_bytes == 0) return;
    std::size_t held = rows_.rows * rows_.values.size() * sizeof(float) + held_times_ * sizeof(double) + (rows_.breaks.size() + rows_.word_breaks.size()) * sizeof(std::uint64_t);
    for (const auto& events : rows_.events) held += events.size() * (sizeof(LogicEvent) + sizeof(LogicChange));
    if (held > options_.memory_limit_bytes) throw std::bad_alloc();
  }

  Rows& rows_;
  std::size_t text_bytes_;
  const Layout& layout_;
  const ImportOptions& options_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<BlockRows> results_;
  std::vector<BlockRows*> free_;
  std::map<std::size_t, Waiting> waiting_;
  std::size_t handed_out_ = 0, appended_ = 0, held_times_ = 0;
  bool stopped_ = false, appending_ = false;
};

void work(const Content& text, const Layout& layout, Collector& collector) {
  try {
    BlockReader reader(layout);
    BlockBuffer buffer(reader.wanted_behind());
    const std::size_t first = layout.data_begin;
    for (;;) {
      const auto turn = collector.next_block();
      const std::size_t begin = first + turn.index * block_bytes;
      if (turn.result == nullptr || begin >= text.size()) return;
      const Lines lines = lines_in(text, first, begin, block_bytes, buffer);
      reader.read(lines.block, lines.offset, lines.ends_text, *turn.result);
      collector.take(turn, lines.offset + lines.block.bytes.size());
    }
  } catch (...) {
    collector.stop(std::current_exception());
  }
}

}  // namespace

std::uint64_t line_number(const Content& text, std::size_t offset) {
  BlockBuffer buffer;
  std::uint64_t line = 1;
  for (std::size_t at = 0; at < offset; at += block_bytes) {
    const auto bytes = text.block(at, std::min(block_bytes, offset - at), buffer).bytes;
    line += static_cast<std::uint64_t>(std::count(bytes.begin(), bytes.end(), '\n'));
  }
  return line;
}

std::uint64_t line_of_row(const Content& text, const Layout& layout, std::uint64_t row) {
  BlockReader reader(layout);
  BlockBuffer buffer(reader.wanted_behind());
  BlockRows rows;
  for (std::size_t begin = layout.data_begin; begin < text.size(); begin += block_bytes) {
    const Lines lines = lines_in(text, layout.data_begin, begin, block_bytes, buffer);
    reader.read(lines.block, lines.offset, lines.ends_text, rows);
    if (row >= rows.rows) {
      row -= rows.rows;
      continue;
    }
    const auto bytes = lines.block.bytes;
    for (std::size_t at = 0; at < bytes.size();) {
      Block one = lines.block;
      one.bytes = bytes.substr(at, std::min(bytes.find('\n', at), bytes.size() - 1) + 1 - at);
      reader.read(one, lines.offset + at, lines.ends_text && at + one.bytes.size() == bytes.size(), rows);
      if (row < rows.rows) return line_number(text, lines.offset + at);
      row -= rows.rows;
      at += one.bytes.size();
    }
  }
  return line_number(text, text.size());
}

Rows read_rows(const std::string& file, const Content& text, const Layout& layout, const ImportOptions& options) {
  Rows rows;
  const auto refuse = [&](std::uint64_t line, std::optional<std::uint64_t> column, const std::string& expected, const std::string& found) {
    throw ImportError(ImportError::Kind::unusable_data, file, {.line = line, .column = column, .byte = {}}, expected, found);
  };
  try {
    rows.expected_interval_s = expected_interval(text, layout);
    const std::size_t blocks = (text.size() - layout.data_begin) / block_bytes + 1;
    const std::size_t threads = std::min(thread_count(options.threads), blocks);
    Collector collector(rows, text.size(), layout, options, threads);
    for_each_index(threads, threads, [&](std::size_t) { work(text, layout, collector); });
    if (collector.failure) std::rethrow_exception(collector.failure);
    if (const auto& odd = collector.not_bits) throw NotBits({odd->column, line_number(text, odd->offset), odd->found});
    if (collector.error) refuse(line_number(text, collector.error->offset), collector.error->column, collector.error->expected, collector.error->found);
  } catch (const LongLine& found) {
    refuse(line_number(text, found.offset), {}, "lines of at most " + std::to_string(longest_line) + " bytes", "a longer one");
  }
  return rows;
}

}  // namespace pulsewright::importers::text
