#pragma once
// The instants at which the driver switched, from a record of one node of the line.

#include <span>
#include <vector>

#include "analyzer/line/line_analysis.hpp"

namespace pulsewright::analyzer {

/// Edges of the driver as one node shows them; rising and falling alternate.
struct DriverEdges {
  std::vector<Transition> edges;   ///< `mid_s` is the instant by which an edge is aligned
  double level_ratio = 0.5;        ///< of the swing above the level before the edge: where that instant lies
  bool dwells = false;             ///< the line fills up step by step: the instants are those at which the voltage turns
  double lowest_v = 0, highest_v = 0;  ///< extremes of the record where it dwells
};

/// Instants at 50 % where the first arrival passes that level; else those at which the voltage has turned and come back by a
/// small share of its span, since on a line that fills up step by step the 50 % level falls on whichever step comes first.
DriverEdges driver_edges(const LineNode& node);

/// The instants at 50 %, whatever the line does.
DriverEdges edges_at_middle(const LineNode& node);

/// Transitions without the pairs closer together than `least_s`: a ring that dips through the 50 % level makes such pairs, no
/// bit does.
std::vector<Transition> without_ring_crossings(std::span<const Transition> transitions, double least_s = 150e-9);

}  // namespace pulsewright::analyzer
