#include "reports/figures/overlay.hpp"

#include <algorithm>

#include "reports/figures/common.hpp"
#include "reports/quantity.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports::figures {

namespace {

const analyzer::EdgeResponse& response_of(const analyzer::Diagnosis& d, Edge which) {
  return which == Edge::rising ? d.rising.response : d.falling.response;
}

}  // namespace

Figure edges_overlaid(const analyzer::Comparison& comparison, Edge which, Size size) {
  std::vector<double> values;
  double first = 0, last = 0;
  for (const auto& d : comparison.captures) {
    const auto& response = response_of(d, which);
    if (response.empty()) return no_waveform(d, "one of the captures has too few edges to build one edge from all of them");
    values.insert(values.end(), response.v.begin(), response.v.end());
    first = std::min(first, response.t_s.front());
    last = std::max(last, response.t_s.back());
  }
  const bool rising = which == Edge::rising;
  Canvas canvas(size, rising ? "Rising edges of all captures" : "Falling edges of all captures");
  Panel panel(canvas, plot_area(size, 168), {first, last, "s", "from the 50 % instant"}, voltage_axis(comparison.captures.front(), values));
  const auto count = comparison.captures.size();
  for (std::size_t i = 0; i < count; ++i) {
    const auto& response = response_of(comparison.captures[i], which);
    const bool newest = i + 1 == count;
    panel.curve({response.t_s, response.v}, newest ? "predicted" : "measured");
    if (i == 0 || newest)
      panel.edge_label(response.v.back(), one_line(comparison.labels[i], 20), newest ? "predicted-text" : "measured-text");
  }
  draw_thresholds(panel, comparison.captures.front());
  panel.finish();
  return {canvas.finish(), std::string(rising ? "Rising" : "Falling") + " edges laid over each other on their 50 % instant, in one scale.", {}};
}

Figure prediction_kept(const analyzer::Comparison& comparison, Size size) {
  const auto& kept = comparison.prediction;
  if (!kept.present) return missing_figure(kept.absent_because);
  std::vector<double> values = kept.measured_v;
  values.insert(values.end(), kept.predicted.v.begin(), kept.predicted.v.end());
  const auto& t_s = kept.predicted.t_s;
  Canvas canvas(size, "The rising edge as predicted and as measured");
  Panel panel(canvas, plot_area(size, 98), {t_s.front(), t_s.back(), "s", "from the 50 % instant"}, voltage_axis(comparison.captures.back(), values));
  panel.band(t_s, kept.predicted.v, kept.predicted.band_v, "predicted-band");
  panel.curve({t_s, kept.predicted.v}, "predicted");
  panel.curve({t_s, kept.measured_v}, "measured");
  panel.edge_label(kept.predicted.v.back(), "predicted", "predicted-text");
  panel.edge_label(kept.measured_v.back(), "measured", "measured-text");
  draw_thresholds(panel, comparison.captures.back());
  panel.finish();
  return {canvas.finish(), "Predicted for " + resistance(kept.ohm) + " with its 95 % band, and what the later capture shows.", {}};
}

Figure ranking(const analyzer::Comparison& comparison, Size size) {
  std::vector<double> margins;
  for (const auto& ranked : comparison.ranking)
    if (ranked.margin) margins.push_back(*ranked.margin);
  if (margins.empty()) return missing_figure("no capture has a decided check");
  Canvas canvas(size, "Smallest margin of each capture, best first");
  const double rows = static_cast<double>(comparison.ranking.size());
  Panel panel(canvas, plot_area(size, 168), axis_of(margins, "1", {0}), {0, rows, "1", ""}, true);
  double row = rows;
  for (const auto& ranked : comparison.ranking) {
    row -= 1;
    const double margin = ranked.margin.value.value_or(0);
    panel.region(std::min(0.0, margin), std::max(0.0, margin), row + 0.2, row + 0.8, margin < 0 ? "predicted-band" : "measured-band");
    panel.edge_label(row + 0.5, one_line(comparison.labels[ranked.index], 20), margin < 0 ? "predicted-text" : "measured-text");
  }
  panel.upright(0, "limit");
  panel.finish();
  return {canvas.finish(), "Smallest margin in half-widths of the window that limits it; left of zero a limit is broken.", {}};
}

}  // namespace pulsewright::reports::figures
