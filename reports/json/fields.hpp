#pragma once
// Every key of the diagnosis schema, once: the writer and the reader walk the same description.
//
// An archive offers: measured(key, Measured&), text, number, count, flag, optional_number, optional_count, optional_flag,
// numbers(key, vector<double>&), texts(key, vector<string>&), choice(key, value, names), object(key, visitor),
// list(key, vector<T>&, visitor(archive, T&)), evidence(key, map).

#include <array>
#include <string_view>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports::json {

inline constexpr std::string_view diagnosis_schema = "pulsewright.diagnosis.v1";

template <class A>
void fields(A& a, analyzer::CaptureFacts& c) {
  a.text("file", c.file);
  a.text("sha256", c.sha256);
  a.text("format", c.format);
  a.text("dialect", c.dialect);
  a.text("channel", c.channel);
  a.texts("channels", c.channels);
  a.text("unit", c.unit);
  a.count("samples", c.samples);
  a.number("sample_interval_s", c.sample_interval_s);
  a.number("sample_interval_s_u", c.sample_interval_u_s);
  a.text("sample_interval_rule", c.sample_interval_rule);
  a.number("start_s", c.start_s);
  a.number("span_s", c.span_s);
  a.flag("logic", c.logic);
  a.flag("relative_levels", c.relative_levels);
  a.measured("adc_step_v", c.adc_step_v);
  a.measured("noise_rms_v", c.noise_rms_v);
  a.count("clipped_low", c.clipped_low);
  a.count("clipped_high", c.clipped_high);
  a.measured("samples_on_edge", c.samples_on_edge);
  a.texts("notes", c.notes);
}

template <class A>
void fields(A& a, analyzer::Window& w) {
  a.optional_number("min_s", w.min_s);
  a.optional_number("nominal_s", w.nominal_s);
  a.optional_number("max_s", w.max_s);
}

template <class A>
void fields(A& a, analyzer::TimingWindows& w) {
  using Basis = analyzer::InputLevels::Basis;
  static constexpr std::array<std::pair<Basis, std::string_view>, 4> bases{
      {{Basis::fraction_of_supply, "fraction-of-supply"},
       {Basis::volts, "volts"},
       {Basis::high_fraction_low_volts, "high-fraction-low-volts"},
       {Basis::not_printed, "not-printed"}}};
  a.text("id", w.id);
  a.text("chip", w.chip);
  a.text("edition", w.edition);
  a.object("t0h", w.t0h);
  a.object("t1h", w.t1h);
  a.object("t0l", w.t0l);
  a.object("t1l", w.t1l);
  a.optional_number("period_s", w.period_s);
  a.optional_number("period_tolerance_s", w.period_tolerance_s);
  a.optional_number("latch_gap_min_s", w.latch_gap_min_s);
  a.count("bits_per_pixel", w.bits_per_pixel);
  a.flag("inverted", w.inverted);
  a.number("vih", w.levels.vih);
  a.number("vil", w.levels.vil);
  a.choice("levels_basis", w.levels.basis, bases);
  a.text("source", w.source);
  a.flag("seen", w.seen);
}

template <class A>
void fields(A& a, analyzer::SettingsUsed& s) {
  using analyzer::ProbePosition;
  static constexpr std::array<std::pair<ProbePosition, std::string_view>, 2> positions{
      {{ProbePosition::far, "far"}, {ProbePosition::near, "near"}}};
  a.text("protocol", s.windows.id);
  a.object("windows", s.windows);
  a.flag("protocol_stated", s.protocol_stated);
  a.number("supply_v", s.supply_v);
  a.flag("supply_stated", s.supply_stated);
  a.number("vih_v", s.vih_v);
  a.number("vil_v", s.vil_v);
  a.measured("series_ohm", s.series_ohm);
  a.measured("driver_ohm", s.driver_ohm);
  a.text("cable", s.cable);
  a.measured("length_m", s.length_m);
  a.choice("at", s.at, positions);
  a.measured("bandwidth_hz", s.bandwidth_hz);
  a.number("probe_factor", s.probe_factor);
  a.flag("inverted", s.inverted);
  a.text("title", s.title);
}

template <class A>
void fields(A& a, analyzer::Cause& c) {
  a.text("id", c.id);
  a.number("confidence", c.confidence);
  a.text("text", c.text);
  a.evidence("evidence", c.evidence);
  a.text("refuted_by", c.refuted_by);
  a.text("action", c.action);
}

inline constexpr std::array<std::pair<analyzer::Outcome, std::string_view>, 4> outcome_names{
    {{analyzer::Outcome::pass, "pass"},
     {analyzer::Outcome::marginal, "marginal"},
     {analyzer::Outcome::fail, "fail"},
     {analyzer::Outcome::cannot_tell, "cannot-tell"}}};

template <class A>
void fields(A& a, analyzer::Verdict& v) {
  a.choice("result", v.result, outcome_names);
  a.text("headline", v.headline);
  a.list("causes", v.causes);
  a.texts("recapture_advice", v.recapture_advice);
}

template <class A>
void fields(A& a, analyzer::Check& c) {
  a.text("id", c.id);
  a.text("name", c.name);
  a.choice("result", c.result, outcome_names);
  a.measured("value", c.value, "u");
  a.optional_number("limit_low", c.limit_low);
  a.optional_number("limit_high", c.limit_high);
  a.text("unit", c.unit);
  a.text("source", c.source);
  a.text("text", c.text);
  a.flag("advisory", c.advisory);
}

template <class A>
void fields(A& a, analyzer::Levels& l) {
  a.measured("low_v", l.low_v);
  a.measured("high_v", l.high_v);
  a.measured("amplitude_v", l.amplitude_v);
  a.measured("high_drift_v", l.high_drift_v);
  a.measured("low_drift_v", l.low_drift_v);
  a.measured("high_plateau_min_v", l.high_plateau_min_v);
  a.measured("low_plateau_max_v", l.low_plateau_max_v);
  a.later_measured("high_plateau_max_v", l.high_plateau_max_v);
  a.later_measured("low_rest_wander_v", l.low_rest_wander_v);
  a.measured("peak_max_v", l.peak_max_v);
  a.measured("peak_min_v", l.peak_min_v);
}

template <class A>
void fields(A& a, analyzer::EdgeResponse& r) {
  a.numbers("t_s", r.t_s);
  a.numbers_along(r.t_s.size(), "v", r.v);
  a.numbers_along(r.t_s.size(), "sd_v", r.sd_v);
  a.number("bin_s", r.bin_s);
  a.count("transitions", r.transitions);
}

template <class A>
void fields(A& a, analyzer::TransitionSummary& t) {
  a.count("count", t.count);
  a.measured("duration_10_90_s", t.duration_10_90_s);
  a.measured("duration_20_80_s", t.duration_20_80_s);
  a.measured("duration_10_90_corrected_s", t.duration_10_90_corrected_s);
  a.measured("slew_v_per_s", t.slew_v_per_s);
  a.measured("overshoot_ratio", t.overshoot_ratio);
  a.measured("undershoot_ratio", t.undershoot_ratio);
  a.measured("preshoot_ratio", t.preshoot_ratio);
  a.measured("overshoot_max_ratio", t.overshoot_max_ratio);
  a.measured("settling_s", t.settling_s);
  a.count("recrossings", t.recrossings);
  a.optional_flag("monotonic", t.monotonic);
  a.object("response", t.response);
}

template <class A>
void fields(A& a, analyzer::Histogram& h) {
  a.number("first_s", h.first_s);
  a.number("bin_s", h.bin_s);
  a.counts("counts", h.counts);
}

template <class A>
void fields(A& a, analyzer::WidthStatistics& w) {
  a.count("count", w.count);
  a.measured("mean", w.mean_s);
  a.measured("sd", w.sd_s);
  a.measured("min", w.min_s);
  a.measured("max", w.max_s);
  a.measured("at_vil_mean", w.at_vil_mean_s);
  a.measured("at_vih_mean", w.at_vih_mean_s);
  a.measured("at_vil_max", w.at_vil_max_s);
  a.measured("at_vih_min", w.at_vih_min_s);
  a.object("histogram", w.histogram);
}

template <class A>
void fields(A& a, analyzer::PulseClass& p) {
  a.count("count", p.count);
  a.object("high_width_s", p.high_width);
  a.object("low_width_s", p.low_width);
}

template <class A>
void fields(A& a, analyzer::PulseSummary& p) {
  a.object("zero", p.zero);
  a.object("one", p.one);
  a.object("period_s", p.period);
  a.count("undecided", p.undecided);
  a.count("out_of_window", p.out_of_window);
  a.measured("latch_gap_min_s", p.latch_gap_min_s);
  a.measured("longest_pause_in_frame_s", p.longest_pause_in_frame_s);
  a.measured("high_after_long_low_shift_s", p.high_after_long_low_shift_s);
  a.measured("first_after_idle_shift_s", p.first_after_idle_shift_s);
  a.measured("width_drift_s", p.width_drift_s);
}

template <class A>
void fields(A& a, analyzer::Frame& f) {
  a.number("start_s", f.start_s);
  a.count("bits", f.bits);
  a.count("pixels", f.pixels);
  a.count("leftover_bits", f.leftover_bits);
  a.text("hex", f.hex);
  a.count("differing_bits", f.differing_bits);
  a.optional_count("first_difference", f.first_difference);
  a.flag("cut", f.cut);
}

template <class A>
void fields(A& a, analyzer::Ringing& r) {
  using analyzer::RingSource;
  static constexpr std::array<std::pair<RingSource, std::string_view>, 3> sources{
      {{RingSource::line, "line"}, {RingSource::probe, "probe"}, {RingSource::unknown, "unknown"}}};
  a.measured("frequency_hz", r.frequency_hz);
  a.measured("decay_ratio", r.decay_ratio);
  a.measured("damping_ratio", r.damping_ratio);
  a.choice("source", r.source, sources);
  a.text("source_why", r.source_why);
  a.measured("length_m", r.length_m);
  a.later_measured("probe_frequency_hz", r.probe_frequency_hz);
  a.later_measured("probe_amplitude_ratio", r.probe_amplitude_ratio);
  a.numbers("spectrum_hz", r.spectrum_hz);
  a.numbers_along(r.spectrum_hz.size(), "spectrum_v", r.spectrum_v);
  a.numbers("arrivals_s", r.arrivals_s);
}

template <class A>
void fields(A& a, analyzer::LineFit& l) {
  a.flag("fitted", l.fitted);
  a.text("why_not", l.why_not);
  a.measured("z0_ohm", l.z0_ohm);
  a.measured("delay_s", l.delay_s);
  a.measured("source_ohm", l.source_ohm);
  a.measured("driver_ohm", l.driver_ohm);
  a.measured("source_ratio", l.source_ratio);
  a.measured("load_f", l.load_f);
  a.measured("loss_db", l.loss_db);
  a.measured("edge_s", l.edge_s);
  a.measured("rms_residual_v", l.rms_residual_v);
  a.texts("determined", l.determined);
  a.texts("assumed", l.assumed);
  a.texts("doubts", l.doubts);
  a.numbers("t_s", l.t_s);
  a.numbers_along(l.t_s.size(), "measured_v", l.measured_v);
  a.numbers_along(l.t_s.size(), "model_v", l.model_v);
  a.numbers("falling_t_s", l.falling_t_s);
  a.numbers_along(l.falling_t_s.size(), "falling_measured_v", l.falling_measured_v);
  a.numbers_along(l.falling_t_s.size(), "falling_model_v", l.falling_model_v);
}

template <class A>
void fields(A& a, analyzer::Waveform& w) {
  a.numbers("t_s", w.t_s);
  a.numbers_along(w.t_s.size(), "v", w.v);
  a.numbers_along(w.t_s.size(), "band_v", w.band_v);
}

template <class A>
void fields(A& a, analyzer::Candidate& c) {
  a.number("ohm", c.ohm);
  a.measured("margin", c.margin);
  a.measured("overshoot_ratio", c.overshoot_ratio);
  a.measured("undershoot_ratio", c.undershoot_ratio);
  a.measured("duration_10_90_s", c.duration_10_90_s);
  a.measured("high_margin_v", c.high_margin_v);
  a.measured("low_margin_v", c.low_margin_v);
  a.measured("high_width_zero_s", c.high_width_zero_s);
  a.measured("high_width_one_s", c.high_width_one_s);
  a.choice("outcome", c.outcome, outcome_names);
  a.text("limited_by", c.limited_by);
  a.object("waveform", c.waveform);
  a.object("as_probed", c.as_probed);
}

template <class A>
void fields(A& a, analyzer::Suggestion& s) {
  using analyzer::Action;
  static constexpr std::array<std::pair<Action, std::string_view>, 8> actions{
      {{Action::keep, "keep"},
       {Action::change_series_resistor, "change-series-resistor"},
       {Action::add_buffer, "add-buffer"},
       {Action::shift_level, "shift-level"},
       {Action::fix_ground, "fix-ground"},
       {Action::fix_source_timing, "fix-source-timing"},
       {Action::change_cable, "change-cable"},
       {Action::recapture, "recapture"}}};
  a.choice("action", s.action, actions);
  a.measured("series_ohm_now", s.series_ohm_now);
  a.measured("series_ohm", s.series_ohm);
  a.range("acceptable_ohm", s.acceptable_low_ohm, s.acceptable_high_ohm);
  a.texts("colour_bands", s.colour_bands);
  a.number("confidence", s.confidence);
  a.optional_object("predicted", s.predicted);
  a.list("candidates", s.candidates);
  a.text("method", s.method);
  a.texts("assumptions", s.assumptions);
  a.text("text", s.text);
}

template <class A>
void fields(A& a, analyzer::BitDifference& b) {
  a.count("frame", b.frame);
  a.count("bit", b.bit);
  a.count("pixel", b.pixel);
  a.count("channel", b.channel);
  a.count("channel_bit", b.channel_bit);
  a.flag("expected", b.expected);
  a.flag("found", b.found);
}

template <class A>
void fields(A& a, analyzer::NearFar& n) {
  using analyzer::FaultPlace;
  static constexpr std::array<std::pair<FaultPlace, std::string_view>, 4> places{{{FaultPlace::none, "none"},
                                                                                  {FaultPlace::controller, "controller"},
                                                                                  {FaultPlace::way, "way"},
                                                                                  {FaultPlace::unclear, "unclear"}}};
  a.flag("present", n.present);
  a.text("near_file", n.near_file);
  a.measured("delay_s", n.delay_s);
  a.measured("loss_db", n.loss_db);
  a.measured("edge_growth_s", n.edge_growth_s);
  a.count("compared_bits", n.compared_bits);
  a.count("differing_bits", n.differing_bits);
  a.measured("width_change_zero_s", n.width_change_zero_s);
  a.measured("width_change_one_s", n.width_change_one_s);
  a.measured("high_change_v", n.high_change_v);
  a.measured("low_change_v", n.low_change_v);
  a.count("lost_pulses", n.lost_pulses);
  a.count("added_pulses", n.added_pulses);
  a.optional_count("first_difference", n.first_difference);
  a.list("differences", n.differences);
  a.text("alignment", n.alignment);
  a.choice("made_at", n.made_at, places);
  a.flag("fitted_together", n.fitted_together);
  a.text("fitted_alone_because", n.fitted_alone_because);
  a.text("text", n.text);
  a.optional_object("near_rising", n.near_rising);
  a.optional_object("far_rising", n.far_rising);
}

template <class A>
void fields(A& a, analyzer::Diagnosis& d) {
  a.schema(diagnosis_schema);
  a.object("capture", d.capture);
  a.object("settings", d.settings);
  a.object("verdict", d.verdict);
  a.list("checks", d.checks);
  a.object("levels", d.levels);
  a.object("rising", d.rising);
  a.object("falling", d.falling);
  a.object("pulses", d.pulses);
  a.frames("frames", d.frames);
  a.object("ringing", d.ringing);
  a.object("line", d.line);
  a.object("suggestion", d.suggestion);
  a.object("near_far", d.near_far);
}

}  // namespace pulsewright::reports::json
