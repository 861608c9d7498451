#pragma once
// The same run captured at both ends.

#include "analyzer/diagnose/node.hpp"
#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/frames.hpp"

namespace pulsewright::analyzer {

/// One end as far as its bits go.
struct EndBits {
  const Node* node = nullptr;
  std::span<const BitPulse> pulses;
  const FrameCutting* cutting = nullptr;
  bool same_file = false;  ///< both ends come from one record
};

/// Delay, loss, growth of the edges and bit-by-bit comparison. A delay is known only where both ends come from one
/// record: two records have no common trigger. Bits of separate records are compared frame by frame where the same
/// content occurs.
NearFar compare_ends(const EndBits& near, const EndBits& far, const TimingWindows& windows, double vih_v);

/// Where the fault is made, once the verdict and the line are known.
void conclude_place(NearFar& ends, const Diagnosis& diagnosis);

}  // namespace pulsewright::analyzer
