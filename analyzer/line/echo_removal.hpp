#pragma once
// Bits on a line whose echoes outlast them: no level of the record separates the two states, neither on a strong ring nor on a
// slow staircase, until the echoes are taken away.

#include <optional>

#include "analyzer/line/driver_edges.hpp"

namespace pulsewright::analyzer {

/// What returns to an open far end once its reflection has been to the source and back.
struct Echo {
  double ratio = 0;         ///< (R - Z0) / (R + Z0), less what the line loses
  double round_trip_s = 0;  ///< 2 Td
};

/// v(t) - ratio v(t - round trip) at an open far end is the driver's own waveform, twice the wave that arrives first. Sought is the
/// echo that leaves the fewest samples between two levels (a ratio from -0.85 to 0.85, a round trip from 60 ns to 800 ns); the edges
/// are where that waveform passes its middle. `levels` of the node may be wrong; its transitions only tell where bits are.
/// Nothing where no echo leaves two levels.
std::optional<DriverEdges> edges_without_echoes(const LineNode& far_node);

}  // namespace pulsewright::analyzer
