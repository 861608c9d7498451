#pragma once
// How the step response moves with each parameter of the line: its derivatives in the time domain.

#include <array>

#include "analyzer/line/line_model.hpp"

namespace pulsewright::analyzer {

/// Parameters by whose logarithm the response is derived; `far` and `source` are the capacitance at the far node and the source resistance.
enum LineKnob : std::size_t { knob_z0, knob_delay, knob_loop, knob_skin, knob_far, knob_edge, knob_bandwidth, knob_source, knob_count };

/// Derivatives of LineSpectrum::step_response, in closed form at each frequency, for a line without conductance at its far end. Each
/// parameter alone: of a line grown longer, delay and both losses move. The bandwidth's is 0 where there is no instrument.
class LineSlopes {
 public:
  LineSlopes(const LineParameters& line, LineEnd end, const LineGrid& grid, const LineWaves& waves);
  std::array<StepResponseGrid, knob_count> of(double source_ohm) const;

 private:
  /// At one frequency, of V = v / (1 + R b): v, b and what they change by with the knobs before `edge`.
  struct Node {
    std::complex<double> v, b, edge, bandwidth;
    std::array<std::complex<double>, knob_edge> dv, db;
  };

  Node node_at(std::complex<double> s, const LineWaves::Wave& wave) const;

  LineParameters line_;
  LineEnd end_;
  LineGrid grid_;
  std::vector<Node> nodes_;
};

}  // namespace pulsewright::analyzer
