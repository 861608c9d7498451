#include "analyzer/protocol/frames.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

namespace pulsewright::analyzer {

namespace {

constexpr double kMayLatch_s = 50e-6;        // printed by the sheets of 2011 to 2013
constexpr double kLongestBitPause_s = 5e-6;  // common practice, no source: no firmware pauses that long between bits
constexpr std::size_t kShownFrames = 64;

std::vector<FrameSpan> split_at(std::span<const BitPulse> pulses, double split_s, double record_start_s,
                                double record_end_s) {
  std::vector<FrameSpan> spans;
  FrameSpan span;
  // At the edges of the record a rest longer than any pause between bits is taken for the rest between frames.
  const double rest_s = std::min(split_s, kLongestBitPause_s);
  span.starts_in_record = !pulses.empty() && pulses.front().start_s - record_start_s >= rest_s;
  for (std::size_t index = 0; index < pulses.size(); ++index) {
    const auto& pulse = pulses[index];
    ++span.count;
    const bool last = std::isnan(pulse.pause_s);
    if (!last && pulse.pause_s < split_s) continue;
    span.ends_in_record = !last || record_end_s - (pulse.start_s + pulse.width_s) >= rest_s;
    spans.push_back(span);
    span = {.first = index + 1, .count = 0, .starts_in_record = true, .ends_in_record = false};
  }
  if (span.count > 0) spans.push_back(span);
  return spans;
}

// Pieces between short pauses are frames when the complete ones are alike in length or of whole pixels throughout.
bool look_like_frames(std::span<const FrameSpan> spans, unsigned bits_per_pixel) {
  std::vector<std::size_t> lengths;
  for (const auto& span : spans) {
    if (!span.cut()) lengths.push_back(span.count);
  }
  if (lengths.empty()) return spans.size() >= 2 && spans[0].count >= bits_per_pixel && spans[1].count >= bits_per_pixel;
  const bool pixels = std::all_of(lengths.begin(), lengths.end(), [&](auto count) { return count >= bits_per_pixel; });
  const bool whole =
      std::all_of(lengths.begin(), lengths.end(), [&](auto count) { return count % bits_per_pixel == 0; });
  const bool alike =
      lengths.size() >= 3 && std::all_of(lengths.begin(), lengths.end(), [&](auto n) { return n == lengths[0]; });
  return pixels && (whole || alike);
}

double longest_pause_s(std::span<const BitPulse> pulses) {
  double longest_s = 0;
  for (const auto& pulse : pulses) {
    if (pulse.pause_s > longest_s) longest_s = pulse.pause_s;
  }
  return longest_s;
}

using Bits = std::vector<bool>;

Bits bits_of(std::span<const BitPulse> pulses, const FrameSpan& span) {
  Bits bits(span.count);
  for (std::size_t index = 0; index < span.count; ++index) bits[index] = pulses[span.first + index].one;
  return bits;
}

std::string hex_of(const Bits& bits) {
  constexpr char kDigits[] = "0123456789abcdef";
  std::string hex;
  for (std::size_t byte = 0; 8 * byte + 8 <= bits.size(); ++byte) {
    unsigned value = 0;
    for (std::size_t bit = 0; bit < 8; ++bit) value = 2 * value + (bits[8 * byte + bit] ? 1u : 0u);
    hex += kDigits[value >> 4];
    hex += kDigits[value & 15];
  }
  return hex;
}

struct Difference {
  std::size_t bits = 0;
  std::optional<std::size_t> first;
};

Difference difference(const Bits& a, const Bits& b) {
  Difference found;
  for (std::size_t index = 0; index < a.size(); ++index) {
    if (a[index] == b[index]) continue;
    if (!found.first) found.first = index;
    ++found.bits;
  }
  return found;
}

// The most common content of the complete frames of each length.
std::map<std::size_t, Bits> common_frames(std::span<const BitPulse> pulses, std::span<const FrameSpan> spans) {
  std::map<std::size_t, std::map<Bits, std::size_t>> tally;
  for (const auto& span : spans) {
    if (!span.cut()) ++tally[span.count][bits_of(pulses, span)];
  }
  std::map<std::size_t, Bits> common;
  for (auto& [length, contents] : tally) {
    const auto most = std::max_element(contents.begin(), contents.end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    common[length] = most->first;
  }
  return common;
}

Measured frame_rate(std::span<const BitPulse> pulses, std::span<const FrameSpan> spans) {
  std::vector<double> starts;
  for (const auto& span : spans) {
    if (span.starts_in_record) starts.push_back(pulses[span.first].start_s);
  }
  if (starts.size() < 2) return Measured::none("fewer than two frame starts in the record");
  return Measured::of(static_cast<double>(starts.size() - 1) / (starts.back() - starts.front()));
}

}  // namespace

FrameCutting cut_frames(std::vector<BitPulse>& pulses, const TimingWindows& windows, double record_start_s,
                        double record_end_s, double interval_u_s) {
  FrameCutting cutting;
  cutting.split_s = std::min(kMayLatch_s, windows.latch_gap_min_s.value_or(kMayLatch_s));
  const double longest_s = longest_pause_s(pulses);
  if (longest_s < cutting.split_s && longest_s > kLongestBitPause_s) {
    const double lower_s = std::max(kLongestBitPause_s, longest_s / 2);
    if (look_like_frames(split_at(pulses, lower_s, record_start_s, record_end_s), windows.bits_per_pixel))
      cutting.split_s = lower_s;
  }
  cutting.spans = split_at(pulses, cutting.split_s, record_start_s, record_end_s);
  for (const auto& span : cutting.spans) pulses[span.first].first_after_idle = span.starts_in_record;

  double shortest_gap_s = 0, longest_inside_s = 0;
  for (const auto& pulse : pulses) {
    if (std::isnan(pulse.pause_s)) continue;
    if (pulse.pause_s < cutting.split_s)
      longest_inside_s = std::max<double>(longest_inside_s, pulse.pause_s);
    else if (shortest_gap_s == 0 || pulse.pause_s < shortest_gap_s)
      shortest_gap_s = pulse.pause_s;
  }
  cutting.latch_gap_min_s = shortest_gap_s > 0 ? Measured::of(shortest_gap_s, interval_u_s)
                                               : Measured::none("no pause between two frames in the record");
  cutting.longest_pause_s = longest_inside_s > 0 ? Measured::of(longest_inside_s, interval_u_s)
                                                 : Measured::none("no two pulses of one frame in the record");
  return cutting;
}

FrameSummary summarize_frames(std::span<const BitPulse> pulses, const FrameCutting& cutting,
                              const TimingWindows& windows) {
  FrameSummary summary;
  summary.count = cutting.spans.size();
  summary.rate_hz = frame_rate(pulses, cutting.spans);
  const auto common = common_frames(pulses, cutting.spans);
  summary.all_alike = common.size() <= 1;
  const auto bits_per_pixel = std::max(1u, windows.bits_per_pixel);
  for (const auto& span : cutting.spans) {
    const Bits bits = bits_of(pulses, span);
    Frame frame{.start_s = pulses[span.first].start_s,
                .bits = span.count,
                .pixels = span.count / bits_per_pixel,
                .leftover_bits = span.count % bits_per_pixel,
                .hex = {},
                .differing_bits = 0,
                .first_difference = {},
                .cut = span.cut()};
    if (!span.cut()) {
      const Difference found = difference(bits, common.at(span.count));
      frame.differing_bits = found.bits;
      frame.first_difference = found.first;
      summary.differing_bits += found.bits;
      summary.all_alike = summary.all_alike && found.bits == 0;
    }
    if (summary.frames.size() == kShownFrames) continue;
    frame.hex = hex_of(bits);
    summary.frames.push_back(std::move(frame));
  }
  return summary;
}

std::size_t odd_frames(std::span<const BitPulse> pulses, const FrameCutting& cutting) {
  std::size_t odd = 0;
  std::vector<Bits> window;
  for (const auto& span : cutting.spans) {
    if (span.cut()) continue;
    window.push_back(bits_of(pulses, span));
    if (window.size() > 3) window.erase(window.begin());
    if (window.size() == 3 && window[0] == window[2] && window[1] != window[0]) ++odd;
  }
  return odd;
}

}  // namespace pulsewright::analyzer
