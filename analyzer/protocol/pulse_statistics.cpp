#include "analyzer/protocol/pulse_statistics.hpp"

#include "analyzer/pulse/accuracy.hpp"

#include <algorithm>
#include <cmath>

namespace pulsewright::analyzer {

namespace {

// Mean and spread in one pass without cancellation (Welford 1962).
class Running {
 public:
  void add(double value) {
    if (std::isnan(value)) return;
    ++count_;
    const double change = value - mean_;
    mean_ += change / static_cast<double>(count_);
    squares_ += change * (value - mean_);
    min_ = count_ == 1 ? value : std::min(min_, value);
    max_ = count_ == 1 ? value : std::max(max_, value);
  }
  std::size_t count() const { return count_; }
  double mean() const { return mean_; }
  double sd() const { return count_ > 1 ? std::sqrt(squares_ / static_cast<double>(count_ - 1)) : 0; }
  double min() const { return min_; }
  double max() const { return max_; }

 private:
  std::size_t count_ = 0;
  double mean_ = 0, squares_ = 0, min_ = 0, max_ = 0;
};

Histogram histogram(const std::vector<float>& widths, const Running& all, double grid_s) {
  constexpr std::size_t kMostBins = 200;
  Histogram bins;
  const double span_s = all.max() - all.min();
  bins.bin_s = std::max({1e-9, grid_s, span_s / static_cast<double>(kMostBins - 1)});
  bins.first_s = (std::floor(all.min() / bins.bin_s)) * bins.bin_s;
  bins.counts.resize(static_cast<std::size_t>((all.max() - bins.first_s) / bins.bin_s) + 1);
  for (const float width : widths) {
    const auto bin = static_cast<std::size_t>(std::max(0.0, (width - bins.first_s) / bins.bin_s));
    ++bins.counts[std::min(bin, bins.counts.size() - 1)];
  }
  return bins;
}

WidthStatistics no_widths(const std::string& why) {
  WidthStatistics widths;
  widths.mean_s = widths.sd_s = widths.min_s = widths.max_s = Measured::none(why);
  widths.at_vil_mean_s = widths.at_vih_mean_s = widths.at_vil_max_s = widths.at_vih_min_s = Measured::none(why);
  return widths;
}

// Widths of one kind: at the mid level, and between crossings of VIL and VIH.
class WidthTally {
 public:
  void add(float mid_s, float at_vil_s, float at_vih_s) {
    add_mid(mid_s);
    at_vil_.add(at_vil_s);
    at_vih_.add(at_vih_s);
  }
  void add_mid(float width_s) {
    mid_.add(width_s);
    widths_.push_back(width_s);
  }
  const Running& mid() const { return mid_; }

  WidthStatistics statistics(const IntervalError& error) const {
    WidthStatistics found;
    found.count = mid_.count();
    if (found.count == 0) return no_widths("no such pulse in the record");
    const double u_one_s = error.of_one_s(mid_.mean());
    found.mean_s = Measured::of(mid_.mean(), error.of_mean_s(mid_.mean(), mid_.sd(), found.count));
    const double degrees = static_cast<double>(std::max<std::size_t>(1, found.count - 1));
    found.sd_s = found.count > 1 ? Measured::of(mid_.sd(), mid_.sd() / std::sqrt(2 * degrees))
                                 : Measured::none("one pulse only");
    found.min_s = Measured::of(mid_.min(), u_one_s);
    found.max_s = Measured::of(mid_.max(), u_one_s);
    found.histogram = histogram(widths_, mid_, error.grid_s);
    set_level_widths(found.at_vil_mean_s, found.at_vil_max_s, at_vil_, at_vil_.max(), "VIL", error);
    set_level_widths(found.at_vih_mean_s, found.at_vih_min_s, at_vih_, at_vih_.min(), "VIH", error);
    return found;
  }

 private:
  void set_level_widths(Measured& mean_s, Measured& extreme_s, const Running& widths, double extreme, const char* level,
                        const IntervalError& error) const {
    if (widths.count() == 0) {
      mean_s = extreme_s = Measured::none(error.grid_s > 0 ? "a logic capture knows one threshold only"
                                                           : std::string("none of them crosses ") + level + " on both edges");
      return;
    }
    mean_s = Measured::of(widths.mean(), error.of_mean_s(widths.mean(), widths.sd(), widths.count()));
    extreme_s = widths.count() == mid_.count() ? Measured::of(extreme, error.of_one_s(extreme))
                                               : Measured::none(std::string("some of them do not cross ") + level + " on both edges");
  }

  Running mid_, at_vil_, at_vih_;
  std::vector<float> widths_;
};

// The period is a distance of rising edges: it has no width at a level.
WidthStatistics without_levels(WidthStatistics widths) {
  widths.at_vil_mean_s = widths.at_vih_mean_s = widths.at_vil_max_s = widths.at_vih_min_s =
      Measured::none("a period is taken between mid-level crossings");
  return widths;
}

bool outside(double width_s, const Window& window) {
  return (window.min_s && width_s < *window.min_s) || (window.max_s && width_s > *window.max_s);
}

Measured difference(const Running& a, const Running& b, double u_floor_s, const char* why) {
  if (a.count() == 0 || b.count() == 0) return Measured::none(why);
  const auto square_u = [&](const Running& group) {
    const double spread_s = std::max(group.sd(), u_floor_s);
    return spread_s * spread_s / static_cast<double>(group.count());
  };
  return Measured::of(a.mean() - b.mean(), std::sqrt(square_u(a) + square_u(b)));
}

// Width of a 1 after a 0 (a long pause) against a 1 after a 1 (a short pause) of the same frame.
Measured previous_bit_shift(std::span<const BitPulse> pulses, double split_s, double u_s) {
  Running after_zero, after_one;
  for (std::size_t index = 1; index < pulses.size(); ++index) {
    const auto& before = pulses[index - 1];
    if (!pulses[index].one || pulses[index].undecided || before.undecided || before.pause_s >= split_s) continue;
    (before.one ? after_one : after_zero).add(pulses[index].width_s);
  }
  return difference(after_zero, after_one, u_s, "the record has no 1 after a 0 and 1 after a 1");
}

Measured first_shift(std::span<const BitPulse> pulses, double zero_mean_s, double one_mean_s, double u_s) {
  Running first, rest;
  for (const auto& pulse : pulses) {
    if (pulse.undecided) continue;
    (pulse.first_after_idle ? first : rest).add(pulse.width_s - (pulse.one ? one_mean_s : zero_mean_s));
  }
  return difference(first, rest, u_s, "no frame start in the record");
}

// Last quarter of each frame of at least 16 bits against its first quarter, each width against the mean of its class.
Measured drift(std::span<const BitPulse> pulses, std::span<const FrameSpan> spans, double zero_mean_s, double one_mean_s,
               double u_s) {
  Running early, late;
  for (const auto& span : spans) {
    if (span.count < 16) continue;
    for (std::size_t place = 1; place < span.count; ++place) {
      const auto& pulse = pulses[span.first + place];
      if (pulse.undecided) continue;
      const double deviation_s = pulse.width_s - (pulse.one ? one_mean_s : zero_mean_s);
      if (4 * place < span.count) early.add(deviation_s);
      if (4 * place >= 3 * span.count) late.add(deviation_s);
    }
  }
  return difference(late, early, u_s, "no frame of 16 bits or more in the record");
}

}  // namespace

double IntervalError::of_one_s(double width_s) const {
  return root_sum_square(width.single_s, width.common_s, width.common_ratio * width_s);
}

double IntervalError::of_mean_s(double mean_s, double sd_s, std::size_t count) const {
  const bool locked = grid_s > 0 && sd_s < 1e-3 * grid_s;
  const double n = static_cast<double>(std::max<std::size_t>(1, count));
  const double random_s = locked || count < 2 ? width.single_s : std::max(sd_s, width.single_s / 4) / std::sqrt(n);
  return root_sum_square(random_s, width.common_s, width.common_ratio * mean_s);
}

PulseSummary no_pulses(const std::string& why) {
  const WidthStatistics none = no_widths(why);
  PulseSummary summary;
  summary.zero = summary.one = {0, none, none};
  summary.period = none;
  summary.latch_gap_min_s = summary.longest_pause_in_frame_s = summary.high_after_long_low_shift_s = summary.first_after_idle_shift_s =
      summary.width_drift_s = Measured::none(why);
  return summary;
}

PulseSummary summarize_pulses(std::span<const BitPulse> pulses, const FrameCutting& cutting, const TimingWindows& windows,
                              const IntervalError& error) {
  PulseSummary summary;
  WidthTally zero_high, one_high, zero_low, one_low, period;
  for (const auto& pulse : pulses) {
    if (pulse.undecided) ++summary.undecided;
    if (outside(pulse.width_s, pulse.one ? windows.t1h : windows.t0h)) ++summary.out_of_window;
    if (!pulse.undecided) (pulse.one ? one_high : zero_high).add(pulse.width_s, pulse.at_vil_s, pulse.at_vih_s);
    const bool within_frame = pulse.pause_s < cutting.split_s;
    if (!within_frame) continue;
    if (!pulse.undecided) (pulse.one ? one_low : zero_low).add(pulse.pause_s, pulse.pause_at_vil_s, pulse.pause_at_vih_s);
    period.add_mid(pulse.width_s + pulse.pause_s);
  }
  summary.zero = {zero_high.mid().count(), zero_high.statistics(error), zero_low.statistics(error)};
  summary.one = {one_high.mid().count(), one_high.statistics(error), one_low.statistics(error)};
  summary.period = without_levels(period.statistics(error));
  summary.latch_gap_min_s = cutting.latch_gap_min_s;
  summary.longest_pause_in_frame_s = cutting.longest_pause_s;
  const double zero_mean_s = zero_high.mid().mean(), one_mean_s = one_high.mid().mean();
  summary.high_after_long_low_shift_s = previous_bit_shift(pulses, cutting.split_s, error.width.single_s);
  summary.first_after_idle_shift_s = first_shift(pulses, zero_mean_s, one_mean_s, error.width.single_s);
  summary.width_drift_s = drift(pulses, cutting.spans, zero_mean_s, one_mean_s, error.width.single_s);
  return summary;
}

}  // namespace pulsewright::analyzer
