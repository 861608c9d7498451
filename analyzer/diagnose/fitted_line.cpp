#include "analyzer/diagnose/fitted_line.hpp"

#include <cmath>

namespace pulsewright::analyzer {

namespace {

LineNode line_node(const Node& node, ProbePosition at) {
  LineNode line{.samples = node.samples,
                .levels = &node.levels,
                .transitions = node.transitions,
                .rising = &node.rising.response,
                .falling = &node.falling.response,
                .noise_rms_v = node.states.noise_rms_v.value.value_or(0),
                .at = at};
  const double rounding_v = 1e-6 * node.levels.amplitude_v.value.value_or(0);
  if (node.states.clipped_low > 0) line.range_low_v = *node.levels.peak_min_v + rounding_v;
  if (node.states.clipped_high > 0) line.range_high_v = *node.levels.peak_max_v - rounding_v;
  return line;
}

// The far end alone knows R/Z0; a fit to both ends that says otherwise has taken the steps at the controller for something else.
std::string why_not_together(const LineFit& both, const LineFit& alone, double swing_v) {
  if (!both.fitted) return "both ends together: " + both.why_not;
  if (!alone.fitted) return {};
  const double allowed = 0.1 * *alone.source_ratio + 2 * std::hypot(alone.source_ratio.u, both.source_ratio.u);
  if (both.rms_residual_v && *both.rms_residual_v > 0.05 * swing_v) return "no line explains both ends to 5 % of the swing";
  const bool agree = std::abs(*both.source_ratio - *alone.source_ratio) <= allowed;
  return agree ? std::string() : "both ends together contradict what the far end alone says of the resistor";
}

}  // namespace

std::string reason_against_a_line(const Node& node) {
  if (node.logic) return "a logic capture does not show the shape of an edge";
  if (node.relative) return "counts without a scale give no voltages to fit";
  return {};
}

FittedLine fit_line(const Node& far, const Node& near, const Diagnosis& diagnosis, const Settings& stated) {
  FittedLine fitted;
  const auto& used = diagnosis.settings;
  const LineNode near_node = line_node(near, ProbePosition::near);
  LineInput input{.node = line_node(far, used.at), .other_end = nullptr, .stated = &stated, .used = &used};
  input.same_record = diagnosis.near_far.alignment == "same record";
  const bool both_ends = diagnosis.near_far.present && used.at == ProbePosition::far;
  if (both_ends) fitted.alone_because = reason_against_a_line(near);
  const bool both = both_ends && fitted.alone_because.empty();
  if (both) input.other_end = &near_node;
  fitted.outcome = analyze_line(input);
  if (!both) return fitted;
  input.other_end = nullptr;
  LineOutcome alone = analyze_line(input);
  fitted.alone_because = why_not_together(fitted.outcome.fit, alone.fit, diagnosis.levels.amplitude_v.value.value_or(used.supply_v));
  fitted.together = fitted.alone_because.empty();
  if (!fitted.together) fitted.outcome = std::move(alone);
  return fitted;
}

void take_line(FittedLine fitted, Diagnosis& diagnosis) {
  diagnosis.near_far.fitted_together = fitted.together;
  diagnosis.near_far.fitted_alone_because = std::move(fitted.alone_because);
  diagnosis.line = std::move(fitted.outcome.fit);
  diagnosis.suggestion = std::move(fitted.outcome.suggestion);
  const auto& line = diagnosis.line;
  if (diagnosis.ringing.arrivals_s.empty() && line.fitted && line.delay_s)
    for (int n = 1; n <= 4; ++n) diagnosis.ringing.arrivals_s.push_back(n * 2 * *line.delay_s);
}

void leave_line_open(const std::string& why, Diagnosis& diagnosis) {
  auto& line = diagnosis.line;
  line.why_not = why;
  for (Measured* figure : {&line.z0_ohm, &line.delay_s, &line.source_ohm, &line.driver_ohm, &line.source_ratio, &line.load_f, &line.loss_db,
                           &line.edge_s, &line.rms_residual_v})
    *figure = Measured::none(why);
  diagnosis.suggestion.series_ohm_now = diagnosis.settings.series_ohm;
  diagnosis.suggestion.series_ohm = Measured::none(why);
}

}  // namespace pulsewright::analyzer
