#pragma once
// Widths that a line may have moved before a recorder with one threshold saw them.

#include <string>

#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/pulse_statistics.hpp"

namespace pulsewright::analyzer {

/// Why the widths of a logic capture do not tell the controller from the line, in one sentence; empty where they do.
///
/// Behind a resistor near the line's impedance both ends of the line rise in steps of a round trip, and a threshold beside the
/// first step waits for the next one on one edge but not on the other: all high times of one kind then are longer or shorter
/// by up to a round trip, and the pauses after them shorter or longer by the same. Where the times do not scatter the shift
/// is one for all pulses (a scatter is what bits before leave on a line that does not settle). If no such shift brings highs
/// and pauses into their windows together, the controller sends other times, wherever the probe sat.
///
/// The round trip comes from the stated length, else 300 ns are allowed (some 27 m). At the controller with no series resistor
/// (`series_ohm` 0, near) nothing dwells: the widths are the controller's.
std::string widths_moved_by_the_line(const Diagnosis& diagnosis, const IntervalError& interval);

}  // namespace pulsewright::analyzer
