#pragma once
// From bits to frames and whole pixels.

#include <cstddef>
#include <span>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/classify.hpp"

namespace pulsewright::analyzer {

/// A run of pulses between two pauses long enough to latch.
struct FrameSpan {
  std::size_t first = 0, count = 0;  ///< indices of pulses
  bool starts_in_record = false;     ///< the pause before it was seen
  bool ends_in_record = false;       ///< the pause after it was seen
  bool cut() const { return !starts_in_record || !ends_in_record; }
};

struct FrameCutting {
  std::vector<FrameSpan> spans;
  double split_s = 0;        ///< pauses of at least this length were taken as latch gaps
  Measured latch_gap_min_s;  ///< shortest latch gap with a frame on both sides
  Measured longest_pause_s;  ///< longest pause within a frame
};

/// A pause latches from the datasheet's time on, but 50 us already does on older parts. Shorter pauses count as latch
/// gaps only when there are no longer ones and the pieces between them are frames: alike in length, of whole pixels.
/// Marks `first_after_idle`. Uncertainties come from `interval_u_s`, the standard uncertainty of one interval.
FrameCutting cut_frames(std::vector<BitPulse>& pulses, const TimingWindows& windows, double record_start_s,
                        double record_end_s, double interval_u_s);

/// Bits, pixels, text and comparison of the frames. Each complete frame is held against the most common one of its
/// length, bit by bit; a frame that the record cuts is not an error and is left out of the comparison.
FrameSummary summarize_frames(std::span<const BitPulse> pulses, const FrameCutting& cutting, const TimingWindows& windows);

/// Complete frames that differ from both neighbours while these two are alike: content that changes does not do that.
std::size_t odd_frames(std::span<const BitPulse> pulses, const FrameCutting& cutting);

}  // namespace pulsewright::analyzer
