#pragma once
// Input clamps of the receiver: diodes into its supply and its ground, which superposition does not know.

#include <cstddef>
#include <span>
#include <vector>

#include "analyzer/line/line_model.hpp"

namespace pulsewright::analyzer {

/// Either diode as a knee with a resistance behind it (the diode's own, a resistor between terminal and chip).
/// A silicon diode bends over some 0.1 V about its knee: this is what the straight line leaves out.
struct Clamp {
  double high_v = 1e9, low_v = -1e9;  ///< knees, absolute
  double ohm = 1e6;

  bool conduct_at(double v) const { return v > high_v || v < low_v; }
  double beyond(double v) const { return v > high_v ? v - high_v : v < low_v ? v - low_v : 0; }  ///< the knee
};

/// What clamps at the far end of a line change at one of its nodes. Step by step, by the method of characteristics (Bergeron): the
/// current sends a wave down the line, which comes back after 2 Td as the source reflects it.
class ClampEffect {
 public:
  /// `seen`: with the probe and the instrument that look at `end`.
  ClampEffect(const LineParameters& seen, LineEnd end, double source_ohm, double step_s);
  /// To be added to the node's voltage. `far_v`: that of the far node, one value a step, without clamps and without instrument.
  std::vector<double> on(const std::vector<double>& far_v, const Clamp& clamp) const;

 private:
  std::vector<double> on_own_steps(const std::vector<double>& far_v, const Clamp& clamp) const;

  LineParameters line_;
  LineEnd end_;
  double source_ohm_;
  std::size_t stride_;  // of the grid given
  double step_s_;
};

/// The same for a train of edges.
class ClampedLine {
 public:
  ClampedLine(const LineParameters& seen, LineEnd end, double rising_ohm, double falling_ohm, const LineGrid& grid, const LineWaves& waves);

  /// Of the corrections: as coarse as the smooth current of a clamp allows.
  double step_s() const { return rising_.step_s; }
  /// What the clamps add, on an even grid of `step_s()` that begins at `first_s`, for alternating edges between two settled states.
  std::vector<double> correction(std::span<const SourceEdge> edges, double low_v, double high_v, const Clamp& clamp, double first_s,
                                 std::size_t count) const;

 private:
  StepResponseGrid rising_, falling_;  // of the far node, without instrument: its voltage drives the clamps
  ClampEffect effect_;
};

}  // namespace pulsewright::analyzer
