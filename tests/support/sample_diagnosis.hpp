#pragma once
// Hand-made diagnoses for tests of the reports. The place is invented: a mill-pond footbridge with a pixel string along its
// handrail, the controller in the pump house 18 m of three-core cable away. Waveforms are the closed form of the open-ended
// line; the figures around them are plausible, not measured.
//
//   samples::overdamped()   220 ohm fitted, too slow: fail, change to 75 ohm
//   samples::ringing()      no resistor fitted, rings: fail
//   samples::pass()         75 ohm fitted: all well, keep
//   samples::logic()        logic levels only: voltages missing, cannot tell
//   samples::hostile(d)     the same with markup in every text of a capture

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "tests/support/waveforms.hpp"

namespace pulsewright::samples {

using analyzer::Action;
using analyzer::Candidate;
using analyzer::Cause;
using analyzer::Check;
using analyzer::Diagnosis;
using analyzer::Measured;
using analyzer::Outcome;

inline constexpr double kZ0 = 98, kDriver = 25, kDelay = 97e-9, kSwing = 5, kInterval = 10e-9;

/// Step at the pixel, looked up every nanosecond: the closed form itself would take seconds a diagnosis.
inline waveforms::StepResponse far_end(double series_ohm) {
  const auto exact = waveforms::lattice(
      {.source_ratio = (kDriver + series_ohm) / kZ0, .td_s = kDelay, .edge_s = 12e-9, .gaussian_s = 7e-9});
  constexpr double grid_s = 1e-9;
  std::vector<double> values;
  for (double t = 0; t <= exact.settled_s + 2 * grid_s; t += grid_s) values.push_back(exact.at(t));
  const double settled_s = exact.settled_s;
  return {[values = std::move(values), settled_s](double t) {
            if (t <= 0) return 0.0;
            if (t >= settled_s) return 1.0;
            const auto i = static_cast<std::size_t>(t / grid_s);
            const double part = t / grid_s - static_cast<double>(i);
            return values[i] + part * (values[i + 1] - values[i]);
          },
          0, settled_s};
}

inline analyzer::EdgeResponse edge_response(const waveforms::StepResponse& step, bool rising) {
  analyzer::EdgeResponse edge;
  const double middle = waveforms::first_reaches(step, 0.5, 0, 1e-6, 500);
  edge.bin_s = 2e-9;
  edge.transitions = 1728;
  for (double t = -120e-9; t < 700e-9; t += edge.bin_s) {
    const double up = kSwing * step.at(middle + t);
    edge.t_s.push_back(t);
    edge.v.push_back(0.03 + (rising ? up : kSwing - up) + 0.012 * std::sin(t * 4.1e8));
    edge.sd_v.push_back(0.03 + 0.05 * std::exp(-t * t / 1e-15));
  }
  return edge;
}

inline waveforms::BitTrain train() {
  std::vector<std::uint8_t> bytes;
  for (unsigned pixel = 0; pixel < 24; ++pixel)
    for (unsigned part = 0; part < 3; ++part) bytes.push_back(static_cast<std::uint8_t>(pixel * 37 + part * 91 + 12));
  return {.bits = waveforms::bits_of(bytes), .frames = 3};
}

inline void fill_figures(Diagnosis& d, const waveforms::StepResponse& step) {
  const auto signal = waveforms::bit_train(train(), step);
  const auto record = waveforms::sample(signal, {.sample_interval_s = kInterval, .noise_rms_v = 0.03});
  const std::size_t columns = 4000, per_column = (record.volts.size() + columns - 1) / columns;
  auto& view = d.figures.record;
  view.start_s = 0;
  view.column_s = static_cast<double>(per_column) * kInterval;
  for (std::size_t i = 0; i < record.volts.size(); i += per_column) {
    const auto end = record.volts.begin() + static_cast<long>(std::min(i + per_column, record.volts.size()));
    const auto [low, high] = std::minmax_element(record.volts.begin() + static_cast<long>(i), end);
    view.min_v.push_back(*low);
    view.max_v.push_back(*high);
  }
  d.figures.folded.span_s = 1.4e-6;
  const double middle = waveforms::first_reaches(step, 0.5, 0, 1e-6, 500);
  const auto bits = train().bits;
  for (std::size_t bit = 3; bit < bits.size() && d.figures.folded.traces.size() < 60; bit += 9) {
    analyzer::FoldedBits::Trace trace{.one = bits[bit], .t_s = {}, .v = {}};
    const double start = signal.edges_s[2 * bit] + middle;
    const auto first = static_cast<std::size_t>((start - 0.15e-6) / kInterval);
    for (std::size_t i = first; i < first + 140; ++i) {
      trace.t_s.push_back(static_cast<float>(static_cast<double>(i) * kInterval - start));
      trace.v.push_back(record.volts[i]);
    }
    d.figures.folded.traces.push_back(std::move(trace));
  }
}

/// Smallest margin of a resistor by the closed form: first arrival above VIH, overshoot below the rail plus 0.5 V.
inline Candidate candidate(double ohm) {
  const double ratio = (kDriver + ohm) / kZ0, gamma = (ratio - 1) / (ratio + 1);
  const double overshoot = std::max(0.0, -gamma), first = 1 - std::max(gamma, 0.0);
  const double dip = 1 - gamma * gamma * (gamma < 0 ? 1 : 0);
  Candidate made;
  made.ohm = ohm;
  const double over = (0.1 - overshoot) / 0.1, under = (std::min(first, dip) - 0.7) / 0.3;
  made.margin = Measured::of(std::max(std::min(over, under), -1.0), 0.05);
  made.limited_by = over < under ? "overshoot beyond the supply" : "first arrival against VIH";
  made.outcome = *made.margin.value > 0.1 ? Outcome::pass : *made.margin.value > -0.1 ? Outcome::marginal : Outcome::fail;
  made.overshoot_ratio = Measured::of(overshoot, 0.01);
  made.undershoot_ratio = Measured::of(overshoot * overshoot, 0.01);
  made.duration_10_90_s = Measured::of(gamma > 0.1 ? 210e-9 : 16e-9, 2e-9);
  made.high_margin_v = Measured::of(kSwing * (std::min(first, dip) - 0.7), 0.06);
  made.low_margin_v = Measured::of(kSwing * (0.3 - (1 - std::min(first, dip))), 0.06);
  made.high_width_zero_s = Measured::of(gamma > 0.3 ? 206e-9 : 398e-9, 4e-9);
  made.high_width_one_s = Measured::of(gamma > 0.3 ? 607e-9 : 799e-9, 4e-9);
  const auto step = far_end(ohm);
  const double middle = waveforms::first_reaches(step, 0.5, 0, 1e-6, 500);
  for (double t = -120e-9; t < 700e-9; t += 5e-9) {
    made.waveform.t_s.push_back(t);
    made.waveform.v.push_back(kSwing * step.at(middle + t));
    made.waveform.band_v.push_back(t < -10e-9 ? 0.04 : 0.12);
  }
  made.as_probed = made.waveform;
  return made;
}

inline analyzer::Histogram histogram(double middle_s, double sd_s) {
  analyzer::Histogram made{.first_s = middle_s - 25e-9, .bin_s = 2e-9, .counts = {}};
  for (int i = 0; i < 25; ++i) {
    const double away = (made.first_s + (i + 0.5) * made.bin_s - middle_s) / sd_s;
    made.counts.push_back(static_cast<std::size_t>(std::lround(300 * std::exp(-away * away / 2))));
  }
  return made;
}

inline analyzer::WidthStatistics widths(std::size_t count, double mean_s, double at_vil_s, double at_vih_s) {
  analyzer::WidthStatistics made;
  made.count = count;
  made.mean_s = Measured::of(mean_s, 1.2e-9);
  made.sd_s = Measured::of(5e-9, 0.2e-9);
  made.min_s = Measured::of(mean_s - 18e-9, 4e-9);
  made.max_s = Measured::of(mean_s + 17e-9, 4e-9);
  made.at_vil_mean_s = Measured::of(at_vil_s, 2e-9);
  made.at_vih_mean_s = Measured::of(at_vih_s, 2e-9);
  made.at_vil_max_s = Measured::of(at_vil_s + 20e-9, 4e-9);
  made.at_vih_min_s = Measured::of(at_vih_s - 20e-9, 4e-9);
  made.histogram = histogram(mean_s, 5e-9);
  return made;
}

inline void fill_capture(Diagnosis& d) {
  auto& c = d.capture;
  c.file = "footbridge-far-220ohm.csv";
  c.sha256 = "0f1e2d3c4b5a69788796a5b4c3d2e1f00f1e2d3c4b5a69788796a5b4c3d2e1f0";
  c.format = "delimited text";
  c.dialect = "time column and two voltage columns";
  c.channel = "DATA far";
  c.unit = "V";
  c.channels = {"DATA far", "PSU"};
  c.samples = 280400;
  c.sample_interval_s = kInterval;
  c.sample_interval_u_s = 2e-15;
  c.sample_interval_rule = "whole time column";
  c.span_s = 2.804e-3;
  c.adc_step_v = Measured::of(10.0 / 256);
  c.noise_rms_v = Measured::of(0.03, 0.002);
  c.samples_on_edge = Measured::of(21, 1);
  c.notes = {"Simulated for this test, not measured on a real line.", "Probe factor 10 assumed: none stated."};
  auto& s = d.settings;
  s.windows = *analyzer::find_windows(analyzer::kDefaultWindowsId, {});
  s.protocol_stated = true;
  s.supply_stated = true;
  s.series_ohm = Measured::of(220, 6);
  s.driver_ohm = Measured::none("not stated; 25 Ω assumed");
  s.cable = "three-core-1mm2";
  s.length_m = Measured::of(18, 0.3);
  s.bandwidth_hz = Measured::of(100e6, 5e6);
  s.title = "Mill-pond footbridge, handrail string, far end";
}

inline void fill_edges(Diagnosis& d, double series_ohm) {
  const auto step = far_end(series_ohm);
  d.levels.low_v = Measured::of(0.03, 0.02);
  d.levels.high_v = Measured::of(5.03, 0.05);
  d.levels.amplitude_v = Measured::of(5.0, 0.05);
  d.levels.high_drift_v = Measured::of(-0.02, 0.02);
  d.levels.low_drift_v = Measured::of(0.01, 0.02);
  d.levels.high_plateau_min_v = Measured::of(4.52, 0.06);
  d.levels.low_plateau_max_v = Measured::of(0.31, 0.04);
  d.levels.high_plateau_max_v = Measured::of(5.06, 0.05);
  d.levels.low_rest_wander_v = Measured::of(0.01, 0.01);
  d.levels.peak_max_v = Measured::of(5.12, 0.05);
  d.levels.peak_min_v = Measured::of(-0.09, 0.05);
  for (auto* edge : {&d.rising, &d.falling}) {
    const auto made = candidate(series_ohm);
    edge->count = 1728;
    edge->duration_10_90_s = made.duration_10_90_s;
    edge->duration_20_80_s = Measured::of(*made.duration_10_90_s.value * 0.9, 2e-9);
    edge->duration_10_90_corrected_s = Measured::of(*made.duration_10_90_s.value - 1e-9, 2e-9);
    edge->slew_v_per_s = Measured::of(2.4e8, 8e6);
    edge->overshoot_ratio = made.overshoot_ratio;
    edge->undershoot_ratio = made.undershoot_ratio;
    edge->preshoot_ratio = Measured::of(0.004, 0.004);
    edge->overshoot_max_ratio = Measured::of(*made.overshoot_ratio.value + 0.02, 0.01);
    edge->settling_s = Measured::of(586e-9, 4e-9);
    edge->monotonic = series_ohm > 30;
    edge->response = edge_response(step, edge == &d.rising);
  }
}

inline void fill_pulses(Diagnosis& d, bool slow) {
  d.pulses.zero = {884, widths(884, 402e-9, slow ? 590e-9 : 410e-9, slow ? 206e-9 : 395e-9),
                   widths(884, 848e-9, 660e-9, 1040e-9)};
  d.pulses.one = {844, widths(844, 803e-9, slow ? 991e-9 : 811e-9, slow ? 607e-9 : 796e-9),
                  widths(844, 447e-9, 260e-9, 640e-9)};
  d.pulses.period = widths(1725, 1250e-9, 1250e-9, 1250e-9);
  d.pulses.out_of_window = slow ? 391 : 0;
  d.pulses.latch_gap_min_s = Measured::of(300e-6, 20e-9);
  d.pulses.longest_pause_in_frame_s = Measured::of(851e-9, 4e-9);
  d.pulses.high_after_long_low_shift_s = Measured::of(slow ? -31e-9 : 1e-9, 3e-9);
  d.pulses.first_after_idle_shift_s = Measured::of(2e-9, 4e-9);
  d.pulses.width_drift_s = Measured::of(0.4e-9, 1.1e-9);
  d.frames.count = 3;
  d.frames.rate_hz = Measured::of(980, 1);
  std::string hex;
  const auto bits = train().bits;
  for (std::size_t i = 0; i < bits.size(); i += 4)
    hex += "0123456789ABCDEF"[bits[i] * 8 + bits[i + 1] * 4 + bits[i + 2] * 2 + bits[i + 3]];
  for (std::size_t i = 0; i < 3; ++i) {
    analyzer::Frame frame{.start_s = 20e-6 + 1.02e-3 * static_cast<double>(i), .bits = 576, .pixels = 24, .leftover_bits = 0,
                          .hex = hex, .differing_bits = 0, .first_difference = {}, .cut = false};
    if (slow && i == 1) {
      frame.hex[7] = frame.hex[7] == '0' ? '1' : '0';
      frame.differing_bits = 1;
      frame.first_difference = 31;
    }
    d.frames.frames.push_back(frame);
  }
  d.frames.differing_bits = slow ? 1 : 0;
  d.frames.all_alike = !slow;
}

inline void fill_line(Diagnosis& d, double series_ohm) {
  auto& line = d.line;
  line.fitted = true;
  line.z0_ohm = Measured::of(kZ0, 6);
  line.delay_s = Measured::of(kDelay, 1e-9);
  line.source_ohm = Measured::of(kDriver + series_ohm, 9);
  line.driver_ohm = Measured::of(kDriver, 9);
  line.source_ratio = Measured::of((kDriver + series_ohm) / kZ0, 0.02);
  line.load_f = Measured::of(26e-12, 6e-12);
  line.loss_db = Measured::of(0.4, 0.2);
  line.edge_s = Measured::of(12e-9, 2e-9);
  line.rms_residual_v = Measured::of(0.021);
  line.determined = {"ratio of source resistance to Z0", "one-way delay"};
  line.assumed = {"Z0 from the stated cable", "driver resistance from its family"};
  line.doubts = {"Z0 and source resistance cannot be told apart by one capture; only their ratio is measured."};
  const auto& measured = d.rising.response;
  const auto step = far_end(series_ohm);
  const double middle = waveforms::first_reaches(step, 0.5, 0, 1e-6, 500);
  for (std::size_t i = 0; i < measured.t_s.size(); ++i) {
    const double model = 0.03 + kSwing * step.at(middle + measured.t_s[i]);
    line.t_s.push_back(measured.t_s[i]);
    line.measured_v.push_back(measured.v[i]);
    line.model_v.push_back(model);
    line.falling_t_s.push_back(d.falling.response.t_s[i]);
    line.falling_measured_v.push_back(d.falling.response.v[i]);
    line.falling_model_v.push_back(0.06 + kSwing - model);
  }
  auto& ring = d.ringing;
  for (int i = 1; i <= 160; ++i) {
    const double hz = 0.25e6 * i, ring_hz = 1 / (4 * kDelay), width = 0.35e6;
    ring.spectrum_hz.push_back(hz);
    ring.spectrum_v.push_back((series_ohm < 60 ? 0.9 : 0.01) / (1 + std::pow((hz - ring_hz) / width, 2)) + 0.02 / i);
  }
  for (int n = 1; n <= 3; ++n) ring.arrivals_s.push_back(2 * n * kDelay);
  ring.frequency_hz = Measured::none("no ring stands out of the noise");
  ring.decay_ratio = ring.damping_ratio = Measured::none("no ring");
  ring.length_m = Measured::none("no ring to measure it by");
}

inline void fill_suggestion(Diagnosis& d, double series_ohm) {
  auto& s = d.suggestion;
  s.action = Action::change_series_resistor;
  s.series_ohm_now = Measured::of(series_ohm, 0.03 * series_ohm);
  s.series_ohm = Measured::of(75, 8);
  s.acceptable_low_ohm = 68;
  s.acceptable_high_ohm = 91;
  s.colour_bands = {"violet", "green", "black", "gold"};
  s.confidence = 0.86;
  for (const double ohm : {0, 10, 22, 33, 47, 56, 62, 68, 75, 82, 91, 100, 110, 120, 150, 180, 220, 270, 330})
    s.candidates.push_back(candidate(ohm));
  s.predicted = candidate(75);
  s.method = "line model";
  s.assumptions = {"One pixel input at the open end of the line.", "The driver reaches both rails."};
  s.text = "Replace the series resistor at the controller by 75 Ω; anything from 68 Ω to 91 Ω does.";
}

inline Check check(std::string id, std::string name, Outcome result, Measured value, std::optional<double> low,
                   std::optional<double> high, std::string unit, std::string text, bool advisory = false) {
  return {std::move(id),   std::move(name), result, std::move(value), low, high, std::move(unit), "WS2812B data sheet",
          std::move(text), advisory};
}

inline void fill_checks(Diagnosis& d, bool slow) {
  d.checks = {
      check("t0h", "High time of a 0 at VIH", slow ? Outcome::fail : Outcome::pass,
            Measured::of(slow ? 206e-9 : 395e-9, 2e-9), 220e-9, 550e-9, "s", "The narrowest 0 that the receiver may see."),
      check("t1h", "High time of a 1 at VIH", slow ? Outcome::marginal : Outcome::pass,
            Measured::of(slow ? 652e-9 : 796e-9, 2e-9), 650e-9, 1600e-9, "s", "The narrowest 1 that the receiver may see."),
      check("high-level", "Settled high level", Outcome::pass, Measured::of(4.52, 0.06), 3.5, {}, "V",
            "Lowest settled high of any pulse against VIH."),
      check("low-level", "Settled low level", Outcome::pass, Measured::of(0.31, 0.04), {}, 1.5, "V",
            "Highest settled low against VIL."),
      check("first-arrival", "First arrival reaches VIH", slow ? Outcome::fail : Outcome::pass,
            Measured::of(slow ? 2.86 : 4.96, 0.06), 3.5, {}, "V", "Height of the first step at the pixel."),
      check("latch-gap", "Latch gap", Outcome::pass, Measured::of(300.02e-6, 2e-9), 300e-6, {}, "s", "Shortest pause."),
      check("accepted-zero", "High time that such chips accept as 0", Outcome::cannot_tell,
            Measured::none("nobody published a measurement of this chip"), {}, 400e-9, "s", "Softer than the data sheet.", true)};
}

/// 220 ohm into 98 ohm: a staircase whose first step stays below VIH.
inline Diagnosis overdamped() {
  Diagnosis d;
  fill_capture(d);
  fill_edges(d, 220);
  fill_pulses(d, true);
  fill_line(d, 220);
  fill_suggestion(d, 220);
  fill_checks(d, true);
  fill_figures(d, far_end(220));
  d.verdict.result = Outcome::fail;
  d.verdict.headline = "The edges are too slow: fit 75 Ω in place of 220 Ω";
  Cause slow{.id = "overdamped-source", .confidence = 0.86,
             .text = "The source resistance is 2.5 times the line impedance, so the voltage at the pixel climbs in steps and the "
                     "first step stays below VIH.",
             .evidence = {}, .refuted_by = "A first step at the pixel above 3.5 V with the 220 Ω still fitted.",
             .action = "Fit 75 Ω in place of 220 Ω."};
  slow.evidence = {{"source_ratio", Measured::of(2.5, 0.02)}, {"first_arrival_v", Measured::of(2.86, 0.03)},
                   {"duration_10_90_s", Measured::of(210e-9, 2e-9)}};
  slow.evidence["steps_every_s"] = Measured::of(2 * kDelay, 2e-9);
  Cause band{.id = "bandwidth-limited", .confidence = 0.06, .text = "The scope itself slows the edge.", .evidence = {},
             .refuted_by = "The same duration with twice the bandwidth.", .action = "None needed."};
  band.evidence = {{"bandwidth_hz", Measured::of(100e6, 5e6)}};
  d.verdict.causes = {slow, band};
  d.verdict.recapture_advice = {"Nothing is missing; a second capture after the change makes the prediction a measurement."};
  return d;
}

/// No series resistor: rings at 1/(4 Td).
inline Diagnosis ringing() {
  Diagnosis d = overdamped();
  d.capture.file = "footbridge-far-0ohm.csv";
  d.settings.series_ohm = Measured::of(0);
  d.pulses = {};
  d.frames = {};
  fill_edges(d, 0);
  fill_pulses(d, false);
  d.line = {};
  d.ringing = {};
  fill_line(d, 0);
  d.suggestion = {};
  fill_suggestion(d, 0);
  d.suggestion.series_ohm_now = Measured::of(0);
  fill_checks(d, false);
  d.figures = {};
  fill_figures(d, far_end(0));
  d.checks.push_back(check("overshoot-supply", "Peak against the supply", Outcome::fail, Measured::of(7.96, 0.06), {}, 5.5, "V",
                           "Highest voltage at the input; the limit is VDD + 0.5 V."));
  d.levels.peak_max_v = Measured::of(7.96, 0.06);
  d.levels.peak_min_v = Measured::of(-2.9, 0.06);
  d.ringing.frequency_hz = Measured::of(1 / (4 * kDelay), 0.02e6);
  d.ringing.decay_ratio = Measured::of(0.355, 0.01);
  d.ringing.damping_ratio = Measured::of(0.163, 0.004);
  d.ringing.source = analyzer::RingSource::line;
  d.ringing.source_why = "The ring fits a quarter-wave of the stated 18 m.";
  d.ringing.length_m = Measured::of(18.1, 0.4);
  for (auto* edge : {&d.rising, &d.falling}) edge->recrossings = 1702;
  d.verdict.headline = "The line rings: fit 75 Ω at the controller";
  d.verdict.causes.resize(1);
  auto& cause = d.verdict.causes[0];
  cause.id = "underdamped-source";
  cause.text = "The driver feeds the line with a quarter of its impedance, so each edge rings for several round trips.";
  cause.evidence = {{"overshoot_ratio", Measured::of(0.59, 0.01)}, {"frequency_hz", d.ringing.frequency_hz}};
  cause.refuted_by = "The same ring with the probe on a ground spring at the same point but the cable unplugged.";
  cause.action = "Fit 75 Ω at the controller.";
  return d;
}

/// 75 ohm fitted: all checks pass.
inline Diagnosis pass() {
  Diagnosis d;
  fill_capture(d);
  d.capture.file = "footbridge-far-75ohm.csv";
  d.settings.series_ohm = Measured::of(75, 2);
  fill_edges(d, 75);
  fill_pulses(d, false);
  fill_line(d, 75);
  fill_suggestion(d, 75);
  fill_checks(d, false);
  fill_figures(d, far_end(75));
  d.verdict.result = Outcome::pass;
  d.verdict.headline = "The pixel sees clean data: keep the 75 Ω";
  d.verdict.causes = {{.id = "none", .confidence = 0.95, .text = "Nothing is wrong on this line.", .evidence = {},
                       .refuted_by = "A pixel that still flickers with this waveform.", .action = "Keep it."}};
  d.suggestion.action = Action::keep;
  d.suggestion.text = "Keep the 75 Ω that are fitted.";
  return d;
}

/// A logic change list: timing only.
inline Diagnosis logic() {
  Diagnosis d;
  fill_capture(d);
  const std::string why = "the capture is logic levels, it carries no voltages";
  auto& c = d.capture;
  c.file = "footbridge-logic.csv";
  c.format = "logic changes";
  c.dialect = "time and level";
  c.logic = true;
  c.unit = "";
  c.adc_step_v = c.noise_rms_v = c.samples_on_edge = Measured::none(why);
  for (auto* m : {&d.levels.low_v, &d.levels.high_v, &d.levels.amplitude_v, &d.levels.high_drift_v, &d.levels.low_drift_v,
                  &d.levels.high_plateau_min_v, &d.levels.low_plateau_max_v, &d.levels.high_plateau_max_v, &d.levels.low_rest_wander_v,
                  &d.levels.peak_max_v, &d.levels.peak_min_v})
    *m = Measured::none(why);
  for (auto* e : {&d.rising, &d.falling}) {
    e->count = 1728;
    for (auto* m : {&e->duration_10_90_s, &e->duration_20_80_s, &e->duration_10_90_corrected_s, &e->slew_v_per_s,
                    &e->overshoot_ratio, &e->undershoot_ratio, &e->preshoot_ratio, &e->overshoot_max_ratio, &e->settling_s})
      *m = Measured::none(why);
  }
  fill_pulses(d, false);
  for (auto* w : {&d.pulses.zero.high_width, &d.pulses.one.high_width, &d.pulses.zero.low_width, &d.pulses.one.low_width,
                  &d.pulses.period})
    w->at_vil_mean_s = w->at_vih_mean_s = w->at_vil_max_s = w->at_vih_min_s = Measured::none(why);
  auto& r = d.ringing;
  r.frequency_hz = r.decay_ratio = r.damping_ratio = r.length_m = r.probe_frequency_hz = r.probe_amplitude_ratio = Measured::none(why);
  d.line.why_not = why;
  for (auto* m : {&d.line.z0_ohm, &d.line.delay_s, &d.line.source_ohm, &d.line.driver_ohm, &d.line.source_ratio,
                  &d.line.load_f, &d.line.loss_db, &d.line.edge_s, &d.line.rms_residual_v})
    *m = Measured::none(why);
  d.suggestion.action = Action::recapture;
  d.suggestion.series_ohm_now = Measured::of(220, 6);
  d.suggestion.series_ohm = Measured::none(why);
  d.suggestion.text = "Capture the same point with an oscilloscope; a resistor cannot be chosen from logic levels.";
  d.checks = {check("t0h", "High time of a 0", Outcome::pass, Measured::of(402e-9, 4e-9), 220e-9, 550e-9, "s", "Timing only."),
              check("high-level", "Settled high level", Outcome::cannot_tell, Measured::none(why), 3.5, {}, "V",
                    "Lowest settled high of any pulse against VIH.")};
  d.verdict.result = Outcome::cannot_tell;
  d.verdict.headline = "Logic levels alone cannot show what the cable does to the edges";
  d.verdict.causes = {{.id = "undersampled", .confidence = 0.5, .text = "The capture holds instants, not voltages.",
                       .evidence = {}, .refuted_by = "", .action = "Capture with an oscilloscope."}};
  d.verdict.recapture_advice = {"Use an oscilloscope with at least 100 MHz bandwidth and a 10:1 probe with a ground spring.",
                                "Sample at 500 MS/s or faster for at least two whole frames.",
                                "Probe at the data input of the first pixel."};
  return d;
}

/// Markup, quotes and direction marks in every text that a capture or the command line brings.
inline Diagnosis hostile(Diagnosis d) {
  const std::string bad = "</script><script>document.title='owned'</script><img src=x onerror=alert(1)>\"'&]]>\xE2\x80\xAE";
  d.capture.file = bad + ".csv";
  d.capture.channel = bad;
  d.capture.channels = {bad, "<!--" + bad};
  d.capture.dialect = d.capture.format = d.capture.unit = d.capture.sample_interval_rule = bad;
  d.capture.notes = {bad, std::string("\x1b[31mred\x1b[0m \xff\xfe broken UTF-8 and a NUL: \0 end", 45)};
  d.settings.title = bad;
  d.settings.cable = bad;
  d.settings.windows.id = d.settings.windows.chip = d.settings.windows.edition = d.settings.windows.source = bad;
  d.verdict.headline += " " + bad;
  for (auto& check : d.checks) check.source = check.text = bad;
  return d;
}

}  // namespace pulsewright::samples
