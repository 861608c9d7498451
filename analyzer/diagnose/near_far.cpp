#include "analyzer/diagnose/near_far.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analyzer/verdict/phrases.hpp"
#include "analyzer/verdict/width_check.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr const char* kLogic = "a logic capture does not show the shape of an edge";

// Both ends in one record: each far pulse belongs to the last near pulse before it, at most half a bit earlier.
std::vector<std::pair<std::size_t, std::size_t>> pair_in_time(std::span<const BitPulse> near,
                                                              std::span<const BitPulse> far, double longest_s) {
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  std::size_t n = 0;
  for (std::size_t f = 0; f < far.size(); ++f) {
    while (n + 1 < near.size() && near[n + 1].start_s <= far[f].start_s) ++n;
    if (n < near.size() && near[n].start_s <= far[f].start_s && far[f].start_s - near[n].start_s < longest_s)
      pairs.emplace_back(n, f);
  }
  return pairs;
}

Measured median_delay(std::span<const BitPulse> near, std::span<const BitPulse> far,
                      std::span<const std::pair<std::size_t, std::size_t>> pairs, double single_s) {
  if (pairs.size() < 3) return Measured::none("fewer than three pulses seen at both ends");
  std::vector<double> delays;
  for (const auto& [n, f] : pairs) delays.push_back(far[f].start_s - near[n].start_s);
  const auto middle = delays.begin() + static_cast<std::ptrdiff_t>(delays.size() / 2);
  std::nth_element(delays.begin(), middle, delays.end());
  const double median_s = *middle;
  double squares = 0;
  for (const double delay : delays) squares += std::min(1e-14, (delay - median_s) * (delay - median_s));
  const double count = static_cast<double>(delays.size());
  // 1.25: standard deviation of a median over that of a mean (normal distribution).
  return Measured::of(median_s, std::max(1.25 * std::sqrt(squares / count) / std::sqrt(count), single_s / 10));
}

void compare_in_time(NearFar& ends, const EndBits& near, const EndBits& far, double period_s) {
  ends.alignment = "same record";
  const auto pairs = pair_in_time(near.pulses, far.pulses, 0.5 * period_s);
  ends.delay_s = median_delay(near.pulses, far.pulses, pairs, far.node->interval.width.single_s);
  for (const auto& [n, f] : pairs) {
    ++ends.compared_bits;
    if (near.pulses[n].one == far.pulses[f].one) continue;
    if (!ends.first_difference) ends.first_difference = f;
    ++ends.differing_bits;
  }
}

std::vector<bool> bits_of(const EndBits& end, const FrameSpan& span) {
  std::vector<bool> bits(span.count);
  for (std::size_t index = 0; index < span.count; ++index) bits[index] = end.pulses[span.first + index].one;
  return bits;
}

std::size_t distance(const std::vector<bool>& a, const std::vector<bool>& b, std::optional<std::size_t>& first) {
  std::size_t found = 0;
  first.reset();
  for (std::size_t index = 0; index < a.size(); ++index) {
    if (a[index] == b[index]) continue;
    if (!first) first = index;
    ++found;
  }
  return found;
}

// Each complete far frame against the near frame of its length that it resembles most. Alike within an eighth of the
// bits counts as the same content.
void compare_by_pattern(NearFar& ends, const EndBits& near, const EndBits& far) {
  ends.delay_s = Measured::none("the two captures have no common trigger");
  std::vector<std::vector<bool>> near_frames;
  for (const auto& span : near.cutting->spans) {
    if (!span.cut() && near_frames.size() < 64) near_frames.push_back(bits_of(near, span));
  }
  ends.alignment = "separate frames";
  for (const auto& span : far.cutting->spans) {
    if (span.cut()) continue;
    const auto bits = bits_of(far, span);
    std::optional<std::size_t> best, best_first;
    for (const auto& candidate : near_frames) {
      if (candidate.size() != bits.size()) continue;
      std::optional<std::size_t> first;
      const auto found = distance(candidate, bits, first);
      if (!best || found < *best) {
        best = found;
        best_first = first;
      }
    }
    if (!best || *best > span.count / 8) continue;
    ends.alignment = "by bit pattern";
    ends.compared_bits += span.count;
    ends.differing_bits += *best;
    if (best_first && !ends.first_difference) ends.first_difference = *best_first;
  }
}

void compare_shapes(NearFar& ends, const Node& near, const Node& far) {
  if (near.logic || far.logic) {
    ends.loss_db = ends.edge_growth_s = Measured::none(kLogic);
    return;
  }
  ends.near_rising = near.rising.response;
  ends.far_rising = far.rising.response;
  const auto& a = near.levels.amplitude_v;
  const auto& b = far.levels.amplitude_v;
  if (a && b && *a > 0 && *b > 0) {
    // 20 / ln 10 = 8.686 dB per unit of relative change.
    ends.loss_db = Measured::of(20 * std::log10(*a / *b), 8.686 * root_sum_square(a.u / *a, b.u / *b));
  } else {
    ends.loss_db = Measured::none("no amplitude at one of the ends");
  }
  const auto& before = near.rising.duration_10_90_s;
  const auto& after = far.rising.duration_10_90_s;
  ends.edge_growth_s = before && after ? Measured::of(*after - *before, root_sum_square(before.u, after.u))
                                       : Measured::none("the edge duration is missing at one of the ends");
}

enum class NearState { sound, faulty, unreadable };

// High times and drive level at the near end. Behind a large series resistor the line shows steps there, no bits.
NearState near_state(const EndBits& near, const TimingWindows& windows, double vih_v) {
  const auto pulses = summarize_pulses(near.pulses, *near.cutting, windows, near.node->interval);
  const auto& levels = near.node->levels;
  if (levels.peak_max_v && *levels.peak_max_v + 2 * levels.peak_max_v.u < vih_v) return NearState::faulty;
  const auto returned = near.node->rising.recrossings + near.node->falling.recrossings;
  const bool stepped = 20 * returned > near.pulses.size() || 50 * pulses.undecided > near.pulses.size();
  if (near.pulses.empty() || stepped) return NearState::unreadable;
  const auto off = [&](const PulseClass& of, const Window& window) {
    return judge_widths(of.high_width, window, near.node->interval).result == Outcome::fail;
  };
  return off(pulses.zero, windows.t0h) || off(pulses.one, windows.t1h) ? NearState::faulty : NearState::sound;
}

std::string where(const NearFar& ends, NearState near) {
  if (near == NearState::unreadable) {
    return "Behind a series resistor the controller's end shows the steps of the line, not bits; for the bits, probe "
           "before the resistor.";
  }
  if (near == NearState::faulty)
    return "The fault is already there at the controller: drive level or bit times are off before the cable.";
  if (ends.differing_bits > 0)
    return "The bits are right at the controller and differ at the far end: the line loses them.";
  if (ends.edge_growth_s && *ends.edge_growth_s > 2 * ends.edge_growth_s.u && *ends.edge_growth_s > 30e-9) {
    return "The controller's signal is sound; the edges grow by " + phrases::seconds(*ends.edge_growth_s) +
           " on the way.";
  }
  return "The controller's signal is sound, and the way to the far end does not change its bits.";
}

}  // namespace

NearFar compare_ends(const EndBits& near, const EndBits& far, const TimingWindows& windows, double vih_v) {
  NearFar ends;
  ends.present = true;
  ends.near_file = near.node->capture->file_name;
  const double period_s = width_shape(far.pulses).period_s;
  if (near.same_file)
    compare_in_time(ends, near, far, period_s > 0 ? period_s : 1.25e-6);
  else
    compare_by_pattern(ends, near, far);
  compare_shapes(ends, *near.node, *far.node);
  ends.text = where(ends, near_state(near, windows, vih_v));
  return ends;
}

}  // namespace pulsewright::analyzer
