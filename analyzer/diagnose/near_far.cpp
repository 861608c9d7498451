#include "analyzer/diagnose/near_far.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analyzer/compare/bits.hpp"
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

// Near pulses that have a partner; several far pulses may share one.
std::size_t partners(std::span<const std::pair<std::size_t, std::size_t>> pairs) {
  std::size_t count = 0;
  for (std::size_t k = 0; k < pairs.size(); ++k) count += k == 0 || pairs[k].first != pairs[k - 1].first;
  return count;
}

void compare_in_time(NearFar& ends, const EndBits& near, const EndBits& far, double period_s, unsigned bits_per_pixel) {
  ends.alignment = "same record";
  const auto pairs = pair_in_time(near.pulses, far.pulses, 0.5 * period_s);
  ends.delay_s = median_delay(near.pulses, far.pulses, pairs, far.node->interval.width.single_s);
  ends.compared_bits = pairs.size();
  ends.added_pulses = far.pulses.size() - pairs.size();
  if (!pairs.empty()) ends.lost_pulses = pairs.back().first - pairs.front().first + 1 - partners(pairs);
  std::size_t pair = 0, frame = 0;
  for (const auto& span : far.cutting->spans) {
    std::vector<bool> sent, seen;
    for (; pair < pairs.size() && pairs[pair].second < span.first + span.count; ++pair) {
      sent.resize(pairs[pair].second - span.first + 1);
      seen.resize(sent.size());
      sent.back() = near.pulses[pairs[pair].first].one;
      seen.back() = far.pulses[pairs[pair].second].one;
    }
    ends.differing_bits += note_differences(sent, seen, frame++, bits_per_pixel, ends.differences);
  }
  if (!ends.differences.empty()) ends.first_difference = ends.differences.front().bit;
}

std::vector<bool> bits_of(const EndBits& end, const FrameSpan& span) {
  std::vector<bool> bits(span.count);
  for (std::size_t index = 0; index < span.count; ++index) bits[index] = end.pulses[span.first + index].one;
  return bits;
}

std::size_t distance(const std::vector<bool>& a, const std::vector<bool>& b) {
  std::size_t found = 0;
  for (std::size_t index = 0; index < a.size(); ++index) found += a[index] != b[index];
  return found;
}

// Each complete far frame against the near frame of its length that it resembles most.
void compare_by_pattern(NearFar& ends, const EndBits& near, const EndBits& far, unsigned bits_per_pixel) {
  ends.delay_s = Measured::none("the two captures have no common trigger");
  std::vector<std::vector<bool>> near_frames;
  for (const auto& span : near.cutting->spans) {
    if (!span.cut() && near_frames.size() < 64) near_frames.push_back(bits_of(near, span));
  }
  ends.alignment = "separate frames";
  for (std::size_t frame = 0; frame < far.cutting->spans.size(); ++frame) {
    const auto& span = far.cutting->spans[frame];
    if (span.cut()) continue;
    const auto bits = bits_of(far, span);
    const std::vector<bool>* best = nullptr;
    for (const auto& candidate : near_frames)
      if (candidate.size() == bits.size() && (best == nullptr || distance(candidate, bits) < distance(*best, bits))) best = &candidate;
    if (best == nullptr || !alike(distance(*best, bits), bits.size())) continue;
    ends.alignment = "by bit pattern";
    ends.compared_bits += span.count;
    ends.differing_bits += note_differences(*best, bits, frame, bits_per_pixel, ends.differences);
  }
  if (!ends.differences.empty()) ends.first_difference = ends.differences.front().bit;
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

Measured change(const Measured& near, const Measured& far) {
  if (!near || !far) return Measured::none(near ? "not known at the far end" : "not known at the near end");
  return Measured::of(*far - *near, root_sum_square(near.u, far.u));
}

// What the way does to the receiver's pulses and to the resting levels.
void compare_pulses(NearFar& ends, const PulseSummary& near, const PulseSummary& far, const Levels& near_levels, const Levels& far_levels) {
  ends.width_change_zero_s = change(near.zero.high_width.mean_s, far.zero.high_width.mean_s);
  ends.width_change_one_s = change(near.one.high_width.mean_s, far.one.high_width.mean_s);
  ends.high_change_v = change(near_levels.high_v, far_levels.high_v);
  ends.low_change_v = change(near_levels.low_v, far_levels.low_v);
}

constexpr double kSlowDriver_s = 60e-9;  // no driver of a data line is that slow: then it is the step of the line (common practice, no source)

enum class NearState { sound, wrong_times, low_drive, unreadable };

// High times and drive level at the near end. Behind a large series resistor the line shows steps there, no bits.
NearState near_state(const EndBits& near, const PulseSummary& pulses, const TimingWindows& windows, double vih_v) {
  const auto& levels = near.node->levels;
  if (!near.node->logic && levels.peak_max_v && *levels.peak_max_v + 2 * levels.peak_max_v.u < vih_v) return NearState::low_drive;
  const auto returned = near.node->rising.recrossings + near.node->falling.recrossings;
  const auto slow = [](const TransitionSummary& edge) { return edge.duration_10_90_s && *edge.duration_10_90_s > kSlowDriver_s; };
  const bool stepped = 20 * returned > near.pulses.size() || 50 * pulses.undecided > near.pulses.size() || slow(near.node->rising) ||
                       slow(near.node->falling);
  if (near.pulses.empty() || stepped) return NearState::unreadable;
  const auto off = [&](const PulseClass& of, const Window& window) {
    return judge_widths(of.high_width, window, near.node->interval).result == Outcome::fail;
  };
  return off(pulses.zero, windows.t0h) || off(pulses.one, windows.t1h) ? NearState::wrong_times : NearState::sound;
}

FaultPlace place_of(NearState state) {
  switch (state) {
    case NearState::wrong_times:
    case NearState::low_drive: return FaultPlace::controller;
    case NearState::sound: return FaultPlace::way;
    case NearState::unreadable: break;
  }
  return FaultPlace::unclear;
}

std::string where(const NearFar& ends, NearState near) {
  switch (near) {
    case NearState::unreadable:
      return "Behind a series resistor the controller's end shows the steps of the line, not bits; for the bits, probe "
             "before the resistor.";
    case NearState::wrong_times:
      return "The fault is already there at the controller: the bit times are off before the cable.";
    case NearState::low_drive:
      return "The fault is already there at the controller: the drive level is too low before the cable.";
    case NearState::sound: break;
  }
  if (ends.differing_bits > 0)
    return "The bits are right at the controller and differ at the far end: the line loses them.";
  if (ends.edge_growth_s && *ends.edge_growth_s > 2 * ends.edge_growth_s.u && *ends.edge_growth_s > 30e-9) {
    return "The controller's signal is sound; the edges grow by " + phrases::seconds(*ends.edge_growth_s) +
           " on the way.";
  }
  return "The controller's signal is sound, and the way to the far end does not change its bits.";
}

// Steps of the line are no pulses: what was measured on them says nothing of the way.
void forget_near_figures(NearFar& ends) {
  for (Measured* figure : {&ends.loss_db, &ends.edge_growth_s, &ends.width_change_zero_s, &ends.width_change_one_s, &ends.high_change_v,
                           &ends.low_change_v})
    *figure = Measured::none("the controller's end shows the steps of the line");
  ends.delay_s = Measured::none("the controller's end shows the steps of the line; the fitted line has the delay");
  ends.compared_bits = ends.differing_bits = ends.lost_pulses = ends.added_pulses = 0;
  ends.first_difference.reset();
  ends.differences.clear();
}

std::string how_compared(const NearFar& ends) {
  if (ends.alignment == "separate frames") return " The two captures hold other frames, so their bits were not compared.";
  if (ends.alignment == "by bit pattern")
    return " The captures were not taken at the same moment; frames of the same content were compared.";
  return {};
}

}  // namespace

std::string_view to_string(FaultPlace place) {
  switch (place) {
    case FaultPlace::none: return "none";
    case FaultPlace::controller: return "controller";
    case FaultPlace::way: return "way";
    case FaultPlace::unclear: break;
  }
  return "unclear";
}

NearFar compare_ends(const EndBits& near, const EndBits& far, const TimingWindows& windows, double vih_v) {
  NearFar ends;
  ends.present = true;
  ends.near_file = near.node->capture->file_name;
  const double period_s = width_shape(far.pulses).period_s;
  if (near.same_file)
    compare_in_time(ends, near, far, period_s > 0 ? period_s : 1.25e-6, windows.bits_per_pixel);
  else
    compare_by_pattern(ends, near, far, windows.bits_per_pixel);
  compare_shapes(ends, *near.node, *far.node);
  const auto near_pulses = summarize_pulses(near.pulses, *near.cutting, windows, near.node->interval);
  const auto far_pulses = summarize_pulses(far.pulses, *far.cutting, windows, far.node->interval);
  compare_pulses(ends, near_pulses, far_pulses, near.node->levels, far.node->levels);
  const auto state = near_state(near, near_pulses, windows, vih_v);
  if (state == NearState::unreadable) forget_near_figures(ends);
  ends.made_at = place_of(state);
  ends.text = where(ends, state) + (state == NearState::unreadable ? std::string() : how_compared(ends));
  return ends;
}

void conclude_place(NearFar& ends, const Diagnosis& diagnosis) {
  if (diagnosis.verdict.result == Outcome::pass && ends.differing_bits == 0) {
    ends.made_at = FaultPlace::none;
    ends.text = "The far end is sound: there is no fault to place. " + ends.text;
    return;
  }
  if (ends.made_at != FaultPlace::unclear) return;
  // The near end cannot be read as bits; the fitted line may still tell what feeds it.
  const auto& ratio = diagnosis.line.source_ratio;
  const auto named = [&](std::string_view id) {
    return !diagnosis.verdict.causes.empty() && diagnosis.verdict.causes.front().id == id;
  };
  const bool too_large = named("overdamped-source") && ratio && *ratio - 2 * ratio.u > 1;
  const bool too_small = named("underdamped-source") && ratio && *ratio + 2 * ratio.u < 1;
  if (!too_large && !too_small) return;
  ends.made_at = FaultPlace::way;
  ends.text += std::string(" The fitted line tells where the fault is made: the series resistor is too ") +
               (too_large ? "large" : "small") + " for this cable.";
}

}  // namespace pulsewright::analyzer
