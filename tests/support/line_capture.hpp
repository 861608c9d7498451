#pragma once
// Captures of a modelled line with known truth: forward model -> bits -> scope -> levels and transitions.

#include <memory>
#include <random>
#include <string>
#include <vector>

#include "analyzer/line/clamp.hpp"
#include "analyzer/line/line_analysis.hpp"
#include "analyzer/line/line_model.hpp"
#include "analyzer/pulse/edge_response.hpp"
#include "analyzer/pulse/levels.hpp"
#include "tests/support/waveforms.hpp"

namespace pulsewright::tests {

/// A line, its source and the instrument that looks at it. The probe's capacitance is part of the far or near node.
struct LineTruth {
  double z0_ohm = 100, delay_s = 60e-9, loop_ohm = 0.6, skin_ohm = 3, driver_ohm = 28, series_ohm = 0, near_f = 3e-12, pixel_f = 10e-12, edge_s = 5e-9;
  double probe_f = 12e-12, bandwidth_hz = 60e6, high_v = 5;
  double sample_interval_s = 10e-9, noise_rms_v = 0.02;
  double range_low_v = -5, range_high_v = 11;  ///< of the instrument
  unsigned adc_bits = 8, seed = 1;
  std::size_t bits = 120, frames = 2;

  double source_ohm() const { return driver_ohm + series_ohm; }
  double ratio() const { return source_ohm() / z0_ohm; }
  analyzer::LineParameters line(bool probed) const {
    return {.z0_ohm = z0_ohm, .delay_s = delay_s, .loop_ohm = loop_ohm, .skin_ohm = skin_ohm, .near_f = near_f,
            .far_f = pixel_f + (probed ? probe_f : 0), .far_siemens = 0, .edge_s = edge_s, .bandwidth_hz = probed ? bandwidth_hz : 0};
  }
  analyzer::StepResponseGrid step(double series, bool probed, analyzer::LineEnd end = analyzer::LineEnd::far) const {
    const auto parameters = line(probed);
    const auto grid = analyzer::LineGrid::fit_for(parameters, driver_ohm + series, 8192);
    return analyzer::LineSpectrum(parameters, end, grid).step_response(driver_ohm + series);
  }
};

/// The record and what the pulse layer finds in it.
struct LineCapture {
  waveforms::Record record;
  analyzer::States states;
  std::vector<analyzer::Transition> transitions;
  analyzer::EdgeResponse rising;

  analyzer::LineNode node(analyzer::ProbePosition at = analyzer::ProbePosition::far) const {
    analyzer::LineNode node{.samples = record.view(), .levels = &states.levels, .transitions = transitions, .rising = &rising, .falling = nullptr,
                            .noise_rms_v = states.noise_rms_v ? *states.noise_rms_v : 0.02, .at = at};
    if (states.clipped_low > 0) node.range_low_v = *states.levels.peak_min_v + 1e-6;
    if (states.clipped_high > 0) node.range_high_v = *states.levels.peak_max_v - 1e-6;
    return node;
  }
};

/// The voltage at the probe as the scope of `truth` records it.
template <class Function>
LineCapture capture_function(const LineTruth& truth, const Function& volts_at, double end_s) {
  LineCapture made;
  made.record = waveforms::sample_function(volts_at, end_s, {.sample_interval_s = truth.sample_interval_s, .noise_rms_v = truth.noise_rms_v,
                                           .adc_bits = truth.adc_bits, .range_low_v = truth.range_low_v, .range_high_v = truth.range_high_v, .seed = truth.seed});
  made.states = analyzer::measure_states(made.record.view());
  made.transitions = analyzer::find_transitions(made.record.view(), made.states.levels, 1.5, 3.5, truth.noise_rms_v, 16.0 / 256);
  made.rising = analyzer::edge_response(made.record.view(), made.transitions, true, made.states.levels);
  return made;
}

inline LineCapture capture_step(const LineTruth& truth, std::shared_ptr<analyzer::StepResponseGrid> step) {
  const waveforms::StepResponse response{[step](double t) { return step->at(t); }, step->first_s, step->end_s()};
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(truth.bits, truth.seed), .frames = truth.frames,
                                            .latch_gap_s = 60e-6, .high_v = truth.high_v}, response);
  return capture_function(truth, [&](double t) { return signal.at(t); }, signal.end_s);
}

/// The line of `truth` with clamps at its pixel.
inline LineCapture capture_clamped_line(const LineTruth& truth, const analyzer::Clamp& clamp) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(truth.bits, truth.seed), .frames = truth.frames, .latch_gap_s = 60e-6}, {});
  std::vector<analyzer::SourceEdge> edges;
  for (const double t : signal.edges_s) edges.push_back({t, edges.size() % 2 == 0});
  const auto line = truth.line(true);
  const auto grid = analyzer::LineGrid::fit_for(line, truth.source_ohm(), 8192);
  const analyzer::LineWaves waves(line, grid);
  const auto step = analyzer::LineSpectrum(line, analyzer::LineEnd::far, grid, waves).step_response(truth.source_ohm());
  const auto count = static_cast<std::size_t>(signal.end_s / step.step_s) + 2;
  auto volts = analyzer::superpose_on_grid(edges, step, step, 0, step.step_s, count);
  for (auto& v : volts) v *= truth.high_v;
  const analyzer::ClampedLine clamped(line, analyzer::LineEnd::far, truth.source_ohm(), truth.source_ohm(), grid, waves);
  const auto added = clamped.correction(edges, 0, truth.high_v, clamp, 0, static_cast<std::size_t>(signal.end_s / clamped.step_s()) + 2);
  const auto on_grid = [](const std::vector<double>& v, double step_s, double t) {
    const double place = std::clamp(t / step_s, 0.0, static_cast<double>(v.size()) - 1.001);
    const auto k = static_cast<std::size_t>(place);
    return v[k] + (place - static_cast<double>(k)) * (v[k + 1] - v[k]);
  };
  const auto volts_at = [&](double t) { return on_grid(volts, step.step_s, t) + on_grid(added, clamped.step_s(), t); };
  return capture_function(truth, volts_at, signal.end_s);
}

inline LineCapture capture_line(const LineTruth& truth, analyzer::LineEnd end = analyzer::LineEnd::far) {
  return capture_step(truth, std::make_shared<analyzer::StepResponseGrid>(truth.step(truth.series_ohm, true, end)));
}

/// A random line of the kind that people build: 4 m to 30 m.
inline LineTruth random_line(std::mt19937& generator) {
  const auto uniform = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  LineTruth t;
  const double length_m = uniform(5, 30);
  t.z0_ohm = uniform(70, 125), t.delay_s = length_m * uniform(4.8e-9, 5.7e-9);
  t.loop_ohm = length_m * uniform(0.03, 0.15), t.skin_ohm = length_m * uniform(0.2, 0.5);
  t.driver_ohm = uniform(15, 45), t.pixel_f = uniform(6e-12, 15e-12), t.edge_s = uniform(3e-9, 9e-9);
  const std::vector<double> fitted{0, 10, 33, 47, 220, 330};
  t.series_ohm = fitted[generator() % fitted.size()];
  t.bandwidth_hz = std::vector<double>{20e6, 50e6, 100e6}[generator() % 3];
  t.seed = static_cast<unsigned>(generator());
  t.near_f = 2e-12 + 5e-15 * (t.seed % 1000);  // a pin, its pads, a terminal
  return t;
}

}  // namespace pulsewright::tests
