#include "importers/text/time_axis.hpp"

#include <algorithm>
#include <cmath>

namespace pulsewright::importers::text {

namespace {

class Walker {
 public:
  Walker(const Rows& rows, double interval_s, double resolution_s, bool change_list)
      : rows_(rows), interval_s_(interval_s), resolution_s_(resolution_s), change_list_(change_list) {}

  TimeAxis run() {
    for (const TimeBlock& block : rows_.times) {
      if (block.times.empty()) {
        take(block.first_row, block.first);
        take_even(block);
      } else {
        for (std::size_t i = 0; i < block.times.size(); ++i) take(block.first_row + i, block.times[i]);
      }
    }
    if (current_.rows() > 0) close();
    return axis_;
  }

 private:
  double longest_step() const { return 1.5 * interval_s_ + 1.1 * resolution_s_; }

  static bool stands_before(const std::vector<std::uint64_t>& breaks, std::size_t& next, std::uint64_t row) {
    bool broken = false;
    while (next < breaks.size() && breaks[next] <= row) broken = broken || breaks[next] == row, ++next;
    return broken;
  }

  bool goes_on_at(double time) const {
    const double step = time - current_.last_s;
    return current_.rows() > 0 && interval_s_ > 0 && step > 0 && step <= longest_step();
  }

  void take(std::uint64_t row, double time) {
    const bool words = stands_before(rows_.word_breaks, next_words_, row);
    const bool broken = stands_before(rows_.breaks, next_break_, row) || (words && !goes_on_at(time));
    if (current_.rows() == 0) {
      segment_first_s_ = time;
      return open(row, time);
    }
    const double step = time - current_.last_s;
    const bool restart = step < 0;
    if (restart && time > segment_first_s_ + 0.5 * interval_s_ + 1.1 * resolution_s_ && !axis_.backwards && !broken) axis_.backwards = {row, step};
    const bool gap = !change_list_ && !restart && interval_s_ > 0 && step > longest_step();
    if (!restart) note_step(step);
    if (restart && !axis_.restart) axis_.restart = {row, step};
    if (!restart && !axis_.odd && std::abs(step - interval_s_) > 1.1 * resolution_s_ + 0.12 * interval_s_) axis_.odd = {row, step};
    if (restart) segment_first_s_ = time;
    axis_.restarts += restart;
    axis_.gaps += gap;
    if (restart || gap || (broken && !change_list_)) {
      close();
      return open(row, time);
    }
    extend(row, time, step, step);
  }

  void take_even(const TimeBlock& block) {
    if (block.rows < 2) return;
    note_step(block.step_min);
    note_step(block.step_max);
    extend(block.first_row + block.rows - 1, block.last, block.step_min, block.step_max);
  }

  void note_step(double step) {
    if (!any_step_) axis_.step_min_s = axis_.step_max_s = step;
    any_step_ = true;
    axis_.step_min_s = std::min(axis_.step_min_s, step);
    axis_.step_max_s = std::max(axis_.step_max_s, step);
  }

  void open(std::uint64_t row, double time) { current_ = {row, row + 1, time, time, 0, 0}; }

  void extend(std::uint64_t row, double time, double low, double high) {
    const bool first = current_.rows() == 1;
    current_.step_min_s = first ? low : std::min(current_.step_min_s, low);
    current_.step_max_s = first ? high : std::max(current_.step_max_s, high);
    current_.end = row + 1;
    current_.last_s = time;
  }

  void close() { axis_.stretches.push_back(current_); }

  const Rows& rows_;
  double interval_s_, resolution_s_;
  bool change_list_;
  TimeAxis axis_;
  Stretch current_;
  double segment_first_s_ = 0;  ///< first time since the last restart
  std::size_t next_break_ = 0, next_words_ = 0;
  bool any_step_ = false;
};

/// Median of the steps of the blocks whose times were kept; only to tell gaps from steps, never as the interval.
double typical_step(const Rows& rows) {
  std::vector<double> steps;
  for (const auto& block : rows.times)
    for (std::size_t i = 1; i < block.times.size() && steps.size() < 100000; ++i)
      if (block.times[i] > block.times[i - 1]) steps.push_back(block.times[i] - block.times[i - 1]);
  if (steps.empty()) return 0;
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle;
}

double off_line(const Stretch& stretch, const TimeBlock& block) {
  const double slope = stretch.interval_s();
  const auto line = [&](std::uint64_t row) { return stretch.first_s + slope * static_cast<double>(row - stretch.begin); };
  double off = 0;
  if (block.times.empty()) {
    if (block.first_row < stretch.begin || block.first_row + block.rows > stretch.end) return 0;
    off = std::max(std::abs(block.first - line(block.first_row)), std::abs(block.last - line(block.first_row + block.rows - 1)));
    return off + block.off_line;
  }
  const auto from = std::max(stretch.begin, block.first_row), to = std::min(stretch.end, block.first_row + block.rows);
  for (auto row = from; row < to; ++row) off = std::max(off, std::abs(block.times[row - block.first_row] - line(row)));
  return off;
}

bool is_even(const Rows& rows, const Stretch& stretch, double resolution_s) {
  if (stretch.rows() < 3) return true;
  const double dt = stretch.interval_s();
  const double slack = 1.1 * resolution_s + 0.12 * dt;
  if (stretch.step_min_s < dt - slack || stretch.step_max_s > dt + slack) return false;
  return std::all_of(rows.times.begin(), rows.times.end(), [&](const TimeBlock& block) {
    if (block.first_row >= stretch.end || block.first_row + block.rows <= stretch.begin) return true;
    return off_line(stretch, block) <= 2.2 * resolution_s + 0.12 * dt;
  });
}

}  // namespace

TimeAxis find_stretches(const Rows& rows, double interval_s, double resolution_s, bool change_list) {
  if (rows.times.empty()) {
    TimeAxis axis;
    std::uint64_t begin = 0;
    for (const auto row : rows.breaks) {
      if (row > begin && row < rows.rows) axis.stretches.push_back({begin, row, 0, 0, 0, 0}), begin = row, ++axis.gaps;
    }
    if (rows.rows > begin) axis.stretches.push_back({begin, rows.rows, 0, 0, 0, 0});
    return axis;
  }
  double reference = rows.expected_interval_s > 0 ? rows.expected_interval_s : typical_step(rows);
  // A rounded column shows mostly equal times: the typical positive step is then one printed digit, not the interval.
  if (rows.expected_interval_s == 0 && interval_s > 0) reference = interval_s;
  TimeAxis axis = Walker(rows, reference, resolution_s, change_list).run();
  axis.even = std::all_of(axis.stretches.begin(), axis.stretches.end(), [&](const Stretch& stretch) { return is_even(rows, stretch, resolution_s); });
  return axis;
}

double tick_of(const Rows& rows, double resolution_s) {
  std::vector<double> steps;
  for (const auto& block : rows.times)
    for (std::size_t i = 1; i < block.times.size() && steps.size() < 5000; ++i)
      if (block.times[i] > block.times[i - 1]) steps.push_back(block.times[i] - block.times[i - 1]);
  if (steps.size() < 3 || resolution_s <= 0) return resolution_s;
  std::sort(steps.begin(), steps.end());
  for (int divisor = 1; divisor <= 64; ++divisor) {
    double low = (steps.front() - resolution_s) / divisor, high = (steps.front() + resolution_s) / divisor;
    if (low + high < 6 * resolution_s) break;
    bool fits = true;
    for (const double step : steps) {
      const double count = std::round(step * 2 / (low + high));
      if ((high - low) * count > 0.5 * (low + high)) break;  // too many ticks to count them
      low = std::max(low, (step - 1.01 * resolution_s) / count);
      high = std::min(high, (step + 1.01 * resolution_s) / count);
      if (low > high) {
        fits = false;
        break;
      }
    }
    if (fits) return (low + high) / 2;
  }
  return resolution_s;
}

}  // namespace pulsewright::importers::text
