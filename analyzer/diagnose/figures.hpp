#pragma once
// The record and its bits thinned to what a figure can show.

#include <span>

#include "analyzer/diagnose/node.hpp"
#include "analyzer/diagnosis.hpp"

namespace pulsewright::analyzer {

/// Smallest and largest value of each of at most 4000 columns; a logic record as 0 and 1.
RecordView record_view(const Node& node);

/// At most 200 bits laid over each other at their leading edge: undecided ones and those outside their window first,
/// the rest spread over the record.
FoldedBits folded_bits(const Node& node, std::span<const BitPulse> pulses, const TimingWindows& windows,
                       double period_s);

}  // namespace pulsewright::analyzer
