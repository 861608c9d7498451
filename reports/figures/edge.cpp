#include <algorithm>
#include <cmath>

#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

namespace {

using analyzer::Diagnosis;

struct Overlay {
  const std::vector<double>&t_s, &measured_v, &model_v;
  bool empty() const { return t_s.empty() || model_v.size() != t_s.size() || measured_v.size() != t_s.size(); }
};

Overlay overlay_of(const Diagnosis& d, Edge which) {
  if (which == Edge::rising) return {d.line.t_s, d.line.measured_v, d.line.model_v};
  return {d.line.falling_t_s, d.line.falling_measured_v, d.line.falling_model_v};
}

/// Dots where the edge passes 10, 50 and 90 % of the amplitude.
void reference_marks(Panel& panel, const Diagnosis& d, const analyzer::EdgeResponse& edge) {
  if (!d.levels.low_v || !d.levels.amplitude_v) return;
  for (const double part : {0.1, 0.5, 0.9}) {
    const double level = *d.levels.low_v + part * *d.levels.amplitude_v;
    const double at = crossing(edge.t_s, edge.v, level, std::nan(""));
    if (!std::isfinite(at)) continue;
    panel.dot(at, level, "dot");
    panel.note(at, level, percent(part), "label");
  }
}

void residual_strip(Canvas& canvas, Rect area, const Axis& time, const Overlay& overlay) {
  std::vector<double> residual_v;
  for (std::size_t i = 0; i < overlay.t_s.size(); ++i) residual_v.push_back(overlay.measured_v[i] - overlay.model_v[i]);
  Axis volts = axis_of(residual_v, "V", {0});
  const double most = round_number_above(std::max(std::abs(volts.low), std::abs(volts.high)));
  volts.low = -most, volts.high = most;
  volts.name = "measured − model";
  Panel strip(canvas, area, time, volts, false);
  strip.across(0, "base");
  strip.curve({overlay.t_s, residual_v}, "measured");
  strip.finish();
}

}  // namespace

Figure edge(const Diagnosis& diagnosis, Edge which, Size size) {
  const bool rising = which == Edge::rising;
  const auto& response = rising ? diagnosis.rising.response : diagnosis.falling.response;
  if (response.empty()) return no_waveform(diagnosis, "too few edges to build one edge from all of them");
  Canvas canvas(size, rising ? "Rising edge with its 10, 50 and 90 percent marks" : "Falling edge with its 10, 50 and 90 percent marks");
  const Axis time{response.t_s.front(), response.t_s.back() + response.bin_s, "s", "from the 50 % instant"};
  Panel panel(canvas, plot_area(size, 100), time, voltage_axis(diagnosis, response.v));
  panel.band(response.t_s, response.v, response.sd_v, "measured-band");
  panel.curve(run_together(response, diagnosis.levels.amplitude_v), "measured-fine");
  draw_thresholds(panel, diagnosis);
  reference_marks(panel, diagnosis, response);
  panel.finish();
  return {canvas.finish(), std::string(rising ? "Rising" : "Falling") + " edge, " + std::to_string(response.transitions) +
                               " edges with the same bits before them laid over each other; the pale band is their spread.", {}};
}

Figure fitted_edge(const Diagnosis& diagnosis, Edge which, Size size) {
  const bool rising = which == Edge::rising;
  const Overlay overlay = overlay_of(diagnosis, which);
  if (overlay.empty()) return missing_figure(diagnosis.line.fitted ? "the fit used no edge of this direction" : "no line model was fitted");
  Canvas canvas(size, rising ? "Rising edge and the fitted model" : "Falling edge and the fitted model");
  std::vector<double> values = overlay.measured_v;
  values.insert(values.end(), overlay.model_v.begin(), overlay.model_v.end());
  const Axis time{overlay.t_s.front(), std::max(overlay.t_s.back(), overlay.t_s.front() + 1e-9), "s", "from the 50 % instant"};
  const Rect whole = plot_area(size, 100);
  Rect low = whole;
  low.top += 84;
  Panel panel(canvas, low, time, voltage_axis(diagnosis, values));
  panel.curve({overlay.t_s, overlay.measured_v}, "measured");
  panel.edge_label(overlay.measured_v.back(), "measured", "measured-text");
  panel.curve({overlay.t_s, overlay.model_v}, "predicted");
  panel.edge_label(overlay.model_v.back(), "model", "predicted-text");
  panel.finish();
  residual_strip(canvas, {whole.left, whole.top, whole.right, whole.top + 40}, time, overlay);
  return {canvas.finish(), std::string(rising ? "A rising" : "A falling") +
                               " edge of one pattern of bits and the line fitted to it; above, what the model leaves unexplained.", {}};
}

Figure arrivals(const Diagnosis& diagnosis, Size size) {
  const auto& response = diagnosis.rising.response;
  const auto& found = diagnosis.ringing.arrivals_s;
  if (response.empty()) return no_waveform(diagnosis, "too few edges to build one edge from all of them");
  if (found.empty()) return missing_figure("no arrivals after the edge are known");
  Canvas canvas(size, "Rising edge with the instants at which a reflection arrives");
  const Axis time{response.t_s.front(), response.t_s.back() + response.bin_s, "s", "from the 50 % instant"};
  Panel panel(canvas, plot_area(size, 100), time, voltage_axis(diagnosis, response.v));
  int number_shown = 0;
  for (const double at : found) {
    ++number_shown;
    panel.upright(at, "limit", number_shown <= 4 ? std::to_string(number_shown) : "", 0);
  }
  panel.curve(run_together(response, diagnosis.levels.amplitude_v), "measured-fine");
  draw_thresholds(panel, diagnosis);
  panel.finish();
  return {canvas.finish(), "Dotted: the instants at which the edge comes back after each round trip along the cable.", {}};
}

}  // namespace pulsewright::reports::figures
