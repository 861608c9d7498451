#include <fmt/format.h>

#include <tuple>

#include "reports/figures/figures.hpp"
#include "reports/html/html.hpp"
#include "reports/html/sections.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/comparison_words.hpp"

namespace pulsewright::reports::html {

namespace {

using analyzer::Diagnosis;
using analyzer::Measured;
using analyzer::TransitionSummary;
using analyzer::WidthStatistics;
using analyzer::Window;
using figures::Bit;
using figures::Edge;

std::string window_text(const Window& window) {
  if (window.empty()) return "not printed";
  if (!window.min_s && !window.max_s) return figure_of(*window.nominal_s, "s") + " nominal";
  return (window.min_s ? figure_of(*window.min_s, "s") : std::string("open")) + " to " +
         (window.max_s ? figure_of(*window.max_s, "s") : std::string("open"));
}

std::vector<std::string> width_row(std::string_view name, const WidthStatistics& w, const Window& window) {
  return {escape(name),
          std::to_string(w.count),
          figure_of(w.mean_s, "s"),
          figure_of(w.min_s, "s"),
          figure_of(w.max_s, "s"),
          figure_of(w.at_vih_mean_s, "s"),
          figure_of(w.at_vil_mean_s, "s"),
          window_text(window)};
}

/// Facts with a value; those without are named together before their reason.
std::string facts_and_reasons(const std::vector<Row>& always, const std::vector<std::tuple<std::string, Measured, std::string_view>>& measured) {
  std::vector<Row> rows = always;
  FiguresWithout missing;
  for (const auto& [name, value, unit] : measured) {
    if (value) rows.push_back({name, figure_of(value, unit)});
    else missing.add(name, value.missing);
  }
  std::string body = facts(rows);
  for (const auto& line : missing.lines()) body += words("p", "missing", line + ".");
  return body;
}

std::string width_table(const Diagnosis& d) {
  const auto& p = d.pulses;
  const auto& w = d.settings.windows;
  Window period;
  period.nominal_s = w.period_s;
  return table("Pulse widths as the receiver sees them",
               {"", "count", "mean", "shortest", "longest", "mean at VIH", "mean at VIL", "allowed"},
               {width_row("0, high time", p.zero.high_width, w.t0h), width_row("0, low time", p.zero.low_width, w.t0l),
                width_row("1, high time", p.one.high_width, w.t1h), width_row("1, low time", p.one.low_width, w.t1l),
                width_row("period", p.period, period)});
}

std::string edge_table(const Diagnosis& d) {
  const TransitionSummary &up = d.rising, &down = d.falling;
  const auto row = [&](std::string_view name, analyzer::Measured TransitionSummary::* member, std::string_view unit) {
    return std::vector<std::string>{escape(name), figure_of(up.*member, unit), figure_of(down.*member, unit)};
  };
  const auto steady = [](const TransitionSummary& t) {
    return !t.monotonic ? std::string("not known") : *t.monotonic ? std::string("yes") : std::string("no");
  };
  using T = TransitionSummary;
  return table("Edges", {"", "rising", "falling"},
               {{"edges", std::to_string(up.count), std::to_string(down.count)},
                row("10–90 % duration", &T::duration_10_90_s, "s"),
                row("without the scope's own share", &T::duration_10_90_corrected_s, "s"),
                row("20–80 % duration", &T::duration_20_80_s, "s"),
                row("slew at 50 %", &T::slew_v_per_s, "V/s"),
                row("overshoot, typical", &T::overshoot_ratio, "ratio"),
                row("overshoot, largest", &T::overshoot_max_ratio, "ratio"),
                row("undershoot", &T::undershoot_ratio, "ratio"),
                row("pre-shoot", &T::preshoot_ratio, "ratio"),
                row("settled within 5 % after", &T::settling_s, "s"),
                {"edges that cross a threshold back", std::to_string(up.recrossings), std::to_string(down.recrossings)},
                {"steady between VIL and VIH", steady(up), steady(down)}});
}

std::string level_facts(const Diagnosis& d) {
  const auto& l = d.levels;
  return facts_and_reasons({}, {{"Low level", l.low_v, "V"},
                                {"High level", l.high_v, "V"},
                                {"Lowest settled high", l.high_plateau_min_v, "V"},
                                {"Highest settled low", l.low_plateau_max_v, "V"},
                                {"High level, frame end against start", l.high_drift_v, "V"},
                                {"Low level, frame end against start", l.low_drift_v, "V"},
                                {"Highest peak", l.peak_max_v, "V"},
                                {"Lowest peak", l.peak_min_v, "V"}});
}

std::string source_of(analyzer::RingSource source) {
  switch (source) {
    case analyzer::RingSource::line: return "the line";
    case analyzer::RingSource::probe: return "the probe";
    case analyzer::RingSource::unknown: break;
  }
  return "not known";
}

std::string named_list(std::string_view name, const std::vector<std::string>& texts) {
  return texts.empty() ? std::string() : words("h3", "", name) + list(texts);
}

}  // namespace

std::string receiver_section(const Diagnosis& d) {
  const auto& p = d.pulses;
  const std::string widths = element("div", "two", figure_block(figures::width_histogram(d, Bit::zero)) +
                                                       figure_block(figures::width_histogram(d, Bit::one)));
  const std::string rest =
      facts({{"Pulses outside their window", std::to_string(p.out_of_window)},
             {"Pulses of neither kind", std::to_string(p.undecided)},
             {"1 after a 0 against 1 after a 1", figure_of(p.high_after_long_low_shift_s, "s")},
             {"First pulse of a frame against the rest", figure_of(p.first_after_idle_shift_s, "s")},
             {"Width at frame end against start", figure_of(p.width_drift_s, "s")},
             {"Shortest latch gap", figure_of(p.latch_gap_min_s, "s")},
             {"Longest pause inside a frame", figure_of(p.longest_pause_in_frame_s, "s")}});
  const auto& w = d.settings.windows;
  const std::string chip = element("p", "", fmt::format("Receiver: {} ({}), {}; windows from: {}.", escape(w.chip), escape(w.edition),
                                                        d.settings.protocol_stated ? "stated" : "assumed from the bit rate",
                                                        escape(w.source)));
  return section("receiver", "What the receiver sees",
                 chip + element("div", "two", figure_block(figures::folded_bits(d, {560, 340})) + element("div", "", rest)) + widths +
                     width_table(d));
}

std::string edges_section(const Diagnosis& d) {
  return section("edges", "Edges and levels",
                 element("div", "two", figure_block(figures::edge(d, Edge::rising, {520, 320})) +
                                           figure_block(figures::edge(d, Edge::falling, {520, 320}))) +
                     edge_table(d) + level_facts(d));
}

std::string ringing_section(const Diagnosis& d) {
  const auto& r = d.ringing;
  std::string body;
  if (r.frequency_hz) {
    body = facts({{"Ring frequency", figure_of(r.frequency_hz, "Hz")},
                  {"Left after one period", figure_of(r.decay_ratio, "ratio")},
                  {"Damping ratio", figure_of(r.damping_ratio, "1")},
                  {"Cable length by the ring", figure_of(r.length_m, "m")},
                  {"Rings", escape(source_of(r.source))}});
    if (r.probe_frequency_hz)
      body += facts({{"Ring of the probe beside it", figure_of(r.probe_frequency_hz, "Hz")},
                     {"First swing of it", figure_of(r.probe_amplitude_ratio, "ratio")}});
    if (!r.source_why.empty()) body += words("p", "", r.source_why);
  } else {
    body = words("p", "", "No ring was found: " + r.frequency_hz.missing + ".");
  }
  std::string shown;
  if (const auto spectrum = figures::ringing_spectrum(d); !spectrum.svg.empty()) shown += figure_block(spectrum);
  if (!r.arrivals_s.empty()) shown += figure_block(figures::arrivals(d));
  return section("ringing", "Ringing", body + element("div", "two", shown));
}

std::string line_section(const Diagnosis& d) {
  const auto& l = d.line;
  std::string body;
  if (!l.fitted) body += element("p", "no-figure", "No line model was fitted: " + escape(l.why_not) + ".");
  if (l.fitted) {
    body += facts_and_reasons({}, {{"Line impedance Z0", l.z0_ohm, "ohm"},
                                   {"One-way delay", l.delay_s, "s"},
                                   {"Source resistance, driver and resistor", l.source_ohm, "ohm"},
                                   {"Source resistance over Z0", l.source_ratio, "1"},
                                   {"Driver alone", l.driver_ohm, "ohm"},
                                   {"Load at the pixel", l.load_f, "F"},
                                   {"Loss", l.loss_db, "dB"},
                                   {"Edge of the driver", l.edge_s, "s"},
                                   {"Left unexplained, rms", l.rms_residual_v, "V"}});
    body += element("div", "two", figure_block(figures::fitted_edge(d, Edge::rising, {520, 360})) +
                                      figure_block(figures::fitted_edge(d, Edge::falling, {520, 360})));
  }
  body += element("div", "two", element("div", "", named_list("Fixed by this capture", l.determined)) +
                                    element("div", "", named_list("Assumed", l.assumed) + named_list("Doubts", l.doubts)));
  return section("line", "The line, as fitted", body);
}

namespace {

std::string said(analyzer::FaultPlace place) {
  switch (place) {
    case analyzer::FaultPlace::none: return "no fault to place";
    case analyzer::FaultPlace::controller: return "at the controller";
    case analyzer::FaultPlace::way: return "between controller and far end";
    case analyzer::FaultPlace::unclear: break;
  }
  return "these captures do not tell";
}

}  // namespace

std::string near_far_section(const Diagnosis& d) {
  const auto& n = d.near_far;
  if (!n.present) return {};
  std::string body = words("p", "", n.text);
  const std::string fitted = n.fitted_together ? "both ends" : "the far end alone" + (n.fitted_alone_because.empty() ? std::string() : ": " + n.fitted_alone_because);
  body += facts_and_reasons({{"Near-end capture", escape(n.near_file)},
                             {"Aligned by", escape(n.alignment)},
                             {"Fault made", escape(said(n.made_at))},
                             {"Line fitted to", escape(fitted)},
                             {"Bits compared", std::to_string(n.compared_bits)},
                             {"Bits that differ", std::to_string(n.differing_bits)}},
                            {{"Delay", n.delay_s, "s"},
                             {"Loss", n.loss_db, "dB"},
                             {"Edge slower at the far end by", n.edge_growth_s, "s"},
                             {"High time of a 0, far minus near", n.width_change_zero_s, "s"},
                             {"High time of a 1, far minus near", n.width_change_one_s, "s"},
                             {"High level, far minus near", n.high_change_v, "V"},
                             {"Low level, far minus near", n.low_change_v, "V"}});
  std::vector<std::string> places;
  for (const auto& place : n.differences) places.push_back(place_in_words(place));
  if (!places.empty()) body += disclosure("Bits that differ, from the controller's end to the far end", list(places), false);
  return section("near-far", "Both ends of the cable", body);
}

std::string record_section(const Diagnosis& d) {
  const auto figure = figures::record(d, {1080, 300});
  std::string body;
  if (!figure.svg.empty()) {
    body += R"(<div class="script-only" id="record-tools"><div class="tools"><button type="button" data-zoom="in">Zoom in</button><button type="button" data-zoom="out">Zoom out</button><button type="button" data-zoom="earlier">Earlier</button><button type="button" data-zoom="later">Later</button><button type="button" data-zoom="whole">Whole record</button></div><div id="record-plot" role="img" aria-label="The record, to be zoomed with the buttons above or by dragging across it"></div><p><output id="record-readout"></output></p></div>)";
    body += element("div", "still", figure_block(figure, "wide"));
  } else {
    body += figure_block(figure);
  }
  return section("record", "Whole record", body);
}

}  // namespace pulsewright::reports::html
