#pragma once
// Which transitions may be laid over each other: those with the same bits before them.

#include <cstddef>
#include <span>
#include <vector>

#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

/// Indices of transitions of one direction with a common history, ascending. A history is the run of intervals before the
/// transition, each short, long or a pause (split at the middle of the range of its polarity; a pause is a low of more than
/// three times the median and 2 us), back to the last pause and at most four intervals. First those after the longest
/// settled state that `enough` transitions share, then as far back as `enough` of them share what came before. Where no
/// last interval is shared by `enough`, the most common one with half as many; else all transitions of the direction.
/// `start_s` is the begin of the record.
std::vector<std::size_t> transitions_of_one_history(std::span<const Transition> transitions, bool rising, double start_s,
                                                    std::size_t enough);

}  // namespace pulsewright::analyzer
