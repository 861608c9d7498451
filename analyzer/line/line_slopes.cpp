#include "analyzer/line/line_slopes.hpp"

#include <cassert>

#include "analyzer/line/line_frequency.hpp"

namespace pulsewright::analyzer {

LineSlopes::LineSlopes(const LineParameters& line, LineEnd end, const LineGrid& grid, const LineWaves& waves)
    : line_(line), end_(end), grid_(grid) {
  assert(waves.serve(line, grid) && line.far_siemens == 0);
  nodes_.reserve(grid.points / 2 + 1);
  Delay lead(static_cast<double>(lead_points) * grid.step_s(), grid.span_s), edge(line.edge_s, grid.span_s);
  SigmaFactors sigma(grid);
  for (std::size_t k = 0; k <= grid.points / 2; ++k) {
    const Complex s = frequency(grid.span_s, k), delayed = edge.next();
    auto node = node_at(s, waves[k]);
    const Complex placed = lead.next() * (sigma.next() / grid.span_s);
    const Complex source = ramp(s, line.edge_s, delayed);
    const Complex lag = line.bandwidth_hz > 0 ? s / (2 * std::numbers::pi * line.bandwidth_hz) : Complex(0);
    const Complex shown = over(placed, 1.0 + lag);
    node.edge = times(times(node.v, over(delayed, s) - source), shown);
    const Complex driven = times(source, shown);
    node.v = times(node.v, driven);
    for (auto& each : node.dv) each = times(each, driven);
    node.bandwidth = times(node.v, over(lag, 1.0 + lag));
    nodes_.push_back(node);
  }
}

// Each knob turns series impedance and shunt admittance of the line, or its load; all else follows by the chain rule.
LineSlopes::Node LineSlopes::node_at(Complex s, const LineWaves::Wave& wave) const {
  const Complex shunt = s * (line_.delay_s / line_.z0_ohm), inductive = s * (line_.z0_ohm * line_.delay_s);
  const Complex way = times(wave.impedance, shunt), series = times(wave.impedance, way);
  const double dc = line_.loop_ohm * line_.loop_ohm;
  const Complex skin = s * (line_.skin_ohm * line_.skin_ohm / (std::numbers::pi * 1e6));
  const Complex loss = line_.skin_ohm > 0 ? root(dc + skin) : Complex(line_.loop_ohm);
  const bool lossy = loss.real() > 0;
  const Complex load = s * line_.far_f, loaded = times(wave.impedance, load), twice = times(wave.once, wave.once);
  const Complex reflected = over(1.0 - loaded, 1.0 + loaded), back = times(reflected, twice);
  const Complex sum = 1.0 + back, entry = times(wave.impedance, sum), line_in = over(1.0 - back, entry);
  const Complex reached = end_ == LineEnd::near ? Complex(1) : over(times(1.0 + reflected, wave.once), sum);
  Node node{.v = reached, .b = line_in + s * line_.near_f, .edge = 0, .bandwidth = 0, .dv = {}, .db = {}};
  const std::array<Complex, knob_edge> in_series{inductive, inductive, lossy ? over(dc, loss) : 0, lossy ? over(skin, loss) : 0, 0};
  const std::array<double, knob_edge> in_shunt{-1, 1, 0, 0, 0};
  const Complex per_load = over(-2.0, times(1.0 + loaded, 1.0 + loaded));
  for (std::size_t k = 0; k < knob_edge; ++k) {
    const Complex relative = over(in_series[k], series);
    const Complex d_impedance = times(wave.impedance, 0.5 * (relative - in_shunt[k]));
    const Complex d_once = -times(wave.once, times(way, 0.5 * (relative + in_shunt[k])));
    const Complex d_loaded = times(d_impedance, load) + (k == knob_far ? loaded : Complex(0));
    const Complex d_reflected = times(per_load, d_loaded);
    const Complex d_back = times(d_reflected, twice) + 2.0 * times(times(reflected, wave.once), d_once);
    node.db[k] = -over(times(Complex(1) + times(line_in, wave.impedance), d_back), entry) - times(line_in, over(d_impedance, wave.impedance));
    if (end_ == LineEnd::far)
      node.dv[k] = over(times(d_reflected, wave.once) + times(1.0 + reflected, d_once) - times(reached, d_back), sum);
  }
  return node;
}

std::array<StepResponseGrid, knob_count> LineSlopes::of(double source_ohm) const {
  std::array<StepResponseGrid, knob_count> slopes;
  std::array<Eigen::VectorXcd, knob_count> spectra;
  for (auto& each : spectra) each.resize(static_cast<Eigen::Index>(nodes_.size()));
  for (Eigen::Index i = 0; i < spectra[0].size(); ++i) {
    const auto& node = nodes_[static_cast<std::size_t>(i)];
    const Complex part = over(1.0, 1.0 + source_ohm * node.b), seen = times(node.v, part);
    for (std::size_t k = 0; k < knob_edge; ++k) spectra[k][i] = times(node.dv[k] - source_ohm * times(seen, node.db[k]), part);
    spectra[knob_edge][i] = times(node.edge, part);
    spectra[knob_bandwidth][i] = times(node.bandwidth, part);
    spectra[knob_source][i] = -source_ohm * times(times(seen, node.b), part);
  }
  for (std::size_t k = 0; k < knob_count; ++k)
    slopes[k] = {.step_s = grid_.step_s(), .first_s = -static_cast<double>(lead_points) * grid_.step_s(), .v = invert(spectra[k], grid_), .final_v = 0};
  return slopes;
}

}  // namespace pulsewright::analyzer
