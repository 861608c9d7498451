#pragma once
// Pulses in a logic capture that a line makes of right ones.

#include <optional>
#include <span>

#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

/// Pieces shorter than any time that a chip wants, and more of them than the odd glitch: one in fifty, or one in each frame.
bool holds_slivers(std::span<const Transition> transitions);

/// A step of the line that stays above the probe's threshold hides the low between two bits: highs of one length, and of one or
/// more bits beyond it. `wanted_period_s`: of a bit of the chip, where it has one.
bool joins_bits(std::span<const Transition> transitions, std::optional<double> wanted_period_s);

}  // namespace pulsewright::analyzer
