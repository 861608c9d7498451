#pragma once
// Edges of a record laid over each other by what came before them: few curves that carry the whole record.

#include <cstddef>
#include <span>
#include <vector>

#include "analyzer/line/line_analysis.hpp"
#include "analyzer/line/line_model.hpp"

namespace pulsewright::analyzer {

/// Edges of one direction with the same bit and the same bits before (0, 1 or a pause; two bits where the line dwells, else
/// one), on a common time axis with 0 at the instant by which the edge is aligned. What is left of earlier bits is then the same in all of them and can be modelled, not averaged away.
struct EdgeClass {
  LineEnd end = LineEnd::far;
  bool rising = true, one = false;
  int before = 2;               ///< bit before: 0, 1, or 2 for a pause
  int before_that = 2;          ///< the same of the bit before that, where it counts
  double alignment_ratio = 0.5; ///< of the swing: level of this edge at instant 0
  std::size_t members = 0;      ///< edges that went in
  std::vector<double> t_s, v;   ///< mean instant and mean level of each bin
  std::vector<double> u_v;      ///< standard uncertainty of the level from scatter and noise
  /// 1 where the level is this or higher, -1 where it is this or lower, because samples of the bin lie at an end of the
  /// converter's range; else 0. Empty where the record keeps within it.
  std::vector<signed char> cut_off;
  /// This edge and its neighbours: mean instants, ascending; `own` is the index of this edge (instant 0). `class_of`
  /// tells for each which class it belongs to, -1 where none was formed.
  std::vector<SourceEdge> edges;
  std::vector<int> class_of;
  std::size_t own = 0;

  /// What lies beyond an end of the range cannot be seen, and does not contradict what was.
  bool hides(std::size_t bin, double level_v) const { return !cut_off.empty() && cut_off[bin] * (level_v - v[bin]) > 0; }
};

/// At most 12 classes of a node, 28 where the line dwells, each from at least two edges. Empty with fewer than four transitions.
std::vector<EdgeClass> fold_edges(const LineNode& node);

/// Mean widths between source edges: high time of a 0 and of a 1, low time after each, from the transitions at mid level.
struct BitTimes {
  double zero_high_s = 400e-9, one_high_s = 800e-9, zero_low_s = 850e-9, one_low_s = 450e-9;
  bool measured = false;
};
BitTimes bit_times(std::span<const Transition> transitions, const TimingWindows& windows);

}  // namespace pulsewright::analyzer
