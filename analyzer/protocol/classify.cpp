#include "analyzer/protocol/classify.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t kMostForMedian = 200'000;

double median(std::vector<float>& values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

float width_between(float lead_offset_s, float trail_offset_s, double width_s) {
  return static_cast<float>(width_s + trail_offset_s - lead_offset_s);
}

BitPulse pulse_between(const Transition& lead, const Transition& trail) {
  BitPulse pulse;
  pulse.start_s = lead.mid_s;
  const double width_s = trail.mid_s - lead.mid_s;
  pulse.width_s = static_cast<float>(width_s);
  pulse.at_vil_s = width_between(lead.vil_offset_s, trail.vil_offset_s, width_s);
  pulse.at_vih_s = width_between(lead.vih_offset_s, trail.vih_offset_s, width_s);
  return pulse;
}

void add_pause(BitPulse& pulse, const Transition& trail, const Transition& next) {
  const double pause_s = next.mid_s - trail.mid_s;
  pulse.pause_s = static_cast<float>(pause_s);
  pulse.pause_at_vil_s = width_between(trail.vil_offset_s, next.vil_offset_s, pause_s);
  pulse.pause_at_vih_s = width_between(trail.vih_offset_s, next.vih_offset_s, pause_s);
}

// Share of the distances between edges of one polarity that lie within a tenth of their median.
double regularity(std::span<const Transition> transitions, bool rising) {
  std::vector<float> distances;
  double last_s = std::nan("");
  for (const auto& transition : transitions) {
    if (transition.rising != rising) continue;
    if (!std::isnan(last_s)) distances.push_back(static_cast<float>(transition.mid_s - last_s));
    last_s = transition.mid_s;
    if (distances.size() == kMostForMedian) break;
  }
  if (distances.size() < 4) return 0;
  const double typical_s = median(distances);
  const auto near = std::count_if(distances.begin(), distances.end(),
                                  [&](float distance) { return std::abs(distance - typical_s) < 0.1 * typical_s; });
  return static_cast<double>(near) / static_cast<double>(distances.size());
}

// Two clusters by the threshold of largest between-class variance (Otsu 1979) on a histogram of the widths.
class WidthHistogram {
 public:
  WidthHistogram(std::span<const BitPulse> pulses, double typical_s) : bin_s_(6 * typical_s / kBins) {
    for (const auto& pulse : pulses) {
      const double place = std::clamp(pulse.width_s / bin_s_, 0.0, kBins - 1.0);
      ++counts_[static_cast<std::size_t>(place)];
    }
  }

  double best_boundary_s() const {
    double total = 0, moment = 0;
    for (std::size_t bin = 0; bin < kBins; ++bin) {
      total += counts_[bin];
      moment += counts_[bin] * static_cast<double>(bin);
    }
    double below = 0, below_moment = 0, best = -1, boundary = 0;
    for (std::size_t bin = 0; bin + 1 < kBins; ++bin) {
      below += counts_[bin];
      below_moment += counts_[bin] * static_cast<double>(bin);
      if (below == 0 || below == total) continue;
      const double difference = below_moment / below - (moment - below_moment) / (total - below);
      const double variance = below * (total - below) * difference * difference;
      if (variance > best * (1 + 1e-12)) {
        best = variance;
        boundary = static_cast<double>(bin) + 1;
      }
    }
    return boundary * bin_s_;
  }

 private:
  static constexpr std::size_t kBins = 2400;
  double bin_s_;
  std::array<double, kBins> counts_{};
};

struct Moments {
  double count = 0, sum = 0, squares = 0;
  void add(double value) {
    ++count;
    sum += value;
    squares += value * value;
  }
  double mean() const { return count > 0 ? sum / count : 0; }
  double sd() const { return count > 1 ? std::sqrt(std::max(0.0, squares / count - mean() * mean())) : 0; }
};

void find_clusters(WidthShape& shape, std::span<const BitPulse> pulses, double typical_s) {
  const double boundary_s = WidthHistogram(pulses, typical_s).best_boundary_s();
  Moments below, above, all;
  for (const auto& pulse : pulses) {
    all.add(pulse.width_s);
    (pulse.width_s < boundary_s ? below : above).add(pulse.width_s);
  }
  shape.short_s = shape.long_s = all.mean();
  shape.spread_s = all.sd();
  const double fewest = std::max(3.0, 0.02 * all.count);
  const double spread_s = (below.sd() + above.sd()) / 2;
  if (below.count < fewest || above.count < fewest) return;
  if (above.mean() < 1.25 * below.mean() || above.mean() - below.mean() < 4 * spread_s) return;
  shape.two_classes = true;
  shape.short_s = below.mean();
  shape.long_s = above.mean();
  shape.spread_s = spread_s;
  shape.boundary_s = (below.mean() + above.mean()) / 2;
}

double upper_s(const Window& window) {
  return window.max_s.value_or(1.3 * window.typical_s());
}
double lower_s(const Window& window) {
  return window.min_s.value_or(0.7 * window.typical_s());
}

bool within(double value_s, const Window& window, double slack_s) {
  return value_s >= lower_s(window) - slack_s && value_s <= upper_s(window) + slack_s;
}

bool period_fits(double period_s, const TimingWindows& windows) {
  return windows.period_s && std::abs(period_s / *windows.period_s - 1) < 0.18;
}

double misfit_s(const WidthShape& shape, const TimingWindows& windows) {
  return std::abs(shape.short_s - windows.t0h.typical_s()) + std::abs(shape.long_s - windows.t1h.typical_s()) +
         std::abs(shape.period_s - windows.period_s.value_or(shape.period_s)) / 4;
}

std::string kilobits(double period_s) {
  return std::to_string(static_cast<int>(std::lround(1e-3 / period_s))) + " kbit/s";
}

}  // namespace

std::vector<BitPulse> extract_pulses(std::span<const Transition> transitions, bool active_low) {
  std::vector<BitPulse> pulses;
  pulses.reserve(transitions.size() / 2);
  for (std::size_t index = 0; index + 1 < transitions.size(); ++index) {
    if (transitions[index].rising == active_low) continue;
    BitPulse pulse = pulse_between(transitions[index], transitions[index + 1]);
    if (index + 2 < transitions.size()) add_pause(pulse, transitions[index + 1], transitions[index + 2]);
    pulses.push_back(pulse);
  }
  return pulses;
}

IdleState idle_state(std::span<const Transition> transitions, double record_start_s, double record_end_s) {
  if (transitions.empty()) return IdleState::unknown;
  std::vector<float> stretches;
  const std::size_t stride = 1 + transitions.size() / kMostForMedian;
  for (std::size_t index = 1; index < transitions.size(); index += stride) {
    stretches.push_back(static_cast<float>(transitions[index].mid_s - transitions[index - 1].mid_s));
  }
  const double typical_s = median(stretches);
  double longest_s = transitions.front().mid_s - record_start_s;
  bool high = !transitions.front().rising;
  const auto consider = [&](double stretch_s, bool state_high) {
    if (stretch_s <= longest_s) return;
    longest_s = stretch_s;
    high = state_high;
  };
  for (std::size_t index = 1; index < transitions.size(); ++index) {
    consider(transitions[index].mid_s - transitions[index - 1].mid_s, transitions[index - 1].rising);
  }
  consider(record_end_s - transitions.back().mid_s, transitions.back().rising);
  if (longest_s > std::max(12 * typical_s, 8e-6)) return high ? IdleState::high : IdleState::low;
  const double by_rising = regularity(transitions, true), by_falling = regularity(transitions, false);
  if (by_rising > by_falling + 0.2) return IdleState::low;
  if (by_falling > by_rising + 0.2) return IdleState::high;
  return IdleState::unknown;
}

WidthShape width_shape(std::span<const BitPulse> pulses) {
  WidthShape shape;
  shape.pulses = pulses.size();
  if (pulses.empty()) return shape;
  std::vector<float> widths, periods;
  const std::size_t stride = 1 + pulses.size() / kMostForMedian;
  for (std::size_t index = 0; index < pulses.size(); index += stride) {
    widths.push_back(pulses[index].width_s);
    if (!std::isnan(pulses[index].pause_s)) periods.push_back(pulses[index].width_s + pulses[index].pause_s);
  }
  shape.period_s = median(periods);
  const auto steady = std::count_if(periods.begin(), periods.end(), [&](float period) {
    return std::abs(period - shape.period_s) < 0.25 * shape.period_s;
  });
  if (!periods.empty()) shape.steady_ratio = static_cast<double>(steady) / static_cast<double>(periods.size());
  find_clusters(shape, pulses, std::max(median(widths), 1e-12));
  return shape;
}

bool high_times_fit(const WidthShape& shape, const TimingWindows& windows, double slack_s) {
  if (shape.two_classes)
    return within(shape.short_s, windows.t0h, slack_s) && within(shape.long_s, windows.t1h, slack_s);
  return within(shape.short_s, windows.t0h, slack_s) || within(shape.short_s, windows.t1h, slack_s);
}

const TimingWindows* fitting_windows(const WidthShape& shape, bool active_low, double slack_s) {
  const TimingWindows* best = nullptr;
  for (const auto& windows : built_in_windows()) {
    if (windows.inverted != active_low || !period_fits(shape.period_s, windows)) continue;
    if (!high_times_fit(shape, windows, slack_s)) continue;
    if (best == nullptr || misfit_s(shape, windows) < misfit_s(shape, *best)) best = &windows;
  }
  return best;
}

ProtocolGuess infer_protocol(const WidthShape& shape, bool active_low) {
  const TimingWindows& family = *find_windows(kDefaultWindowsId, {});
  ProtocolGuess guess{family, true, {}};
  const bool could_be_bits =
      shape.pulses >= 8 && shape.steady_ratio > 0.6 && shape.period_s > 0.5e-6 && shape.period_s < 3.3e-6;
  if (!could_be_bits) {
    guess.is_pixel_data = false;
    guess.why = shape.pulses < 8 ? "too few pulses to tell a protocol"
                                 : "the pulses do not follow each other at a bit rate of pixel chips";
    return guess;
  }
  if (period_fits(shape.period_s, family)) {
    guess.why =
        "assumed from the speed (" + kilobits(shape.period_s) +
        "): chips of this family cannot be told apart by their timing, so the editions of the WS2812B sheet are "
        "taken together; state the chip for its own windows";
    return guess;
  }
  if (const auto* other = fitting_windows(shape, active_low, 100e-9)) {
    guess.windows = *other;
    guess.why = "chosen by speed (" + kilobits(shape.period_s) + ") and pulse widths; state the chip to be sure";
    return guess;
  }
  guess.is_pixel_data = false;
  guess.why = "no known chip has pulses like these at " + kilobits(shape.period_s);
  return guess;
}

void classify(std::vector<BitPulse>& pulses, const WidthShape& shape, const TimingWindows& windows) {
  double zero_s = upper_s(windows.t0h), one_s = lower_s(windows.t1h);
  if (zero_s >= one_s) {
    zero_s = windows.t0h.typical_s();
    one_s = windows.t1h.typical_s();
  }
  const bool by_clusters = shape.two_classes && shape.boundary_s > 0.8 * lower_s(windows.t0h) &&
                           shape.boundary_s < 1.2 * upper_s(windows.t1h);
  if (by_clusters) {
    zero_s = shape.short_s;
    one_s = shape.long_s;
  }
  const double boundary_s = (zero_s + one_s) / 2, doubtful_s = (one_s - zero_s) / 6;
  const double too_short_s = 0.4 * std::min(lower_s(windows.t0h), by_clusters ? zero_s : 1);
  const double too_long_s = 2 * std::max(upper_s(windows.t1h), by_clusters ? one_s : 0);
  for (auto& pulse : pulses) {
    pulse.one = pulse.width_s > boundary_s;
    pulse.undecided =
        std::abs(pulse.width_s - boundary_s) < doubtful_s || pulse.width_s < too_short_s || pulse.width_s > too_long_s;
  }
}

}  // namespace pulsewright::analyzer
