#include "reports/figures/overlay.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "reports/figures/common.hpp"
#include "reports/quantity.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports::figures {

namespace {

constexpr int kRankingRow = 27, kRankingTop = 34;

/// Edges with the same bits before them where the fit of each capture has them, else all edges.
std::vector<Points> edges_of(const analyzer::Comparison& comparison, Edge which) {
  const auto folded = [&](const analyzer::Diagnosis& d) -> Points {
    return which == Edge::rising ? Points{d.line.t_s, d.line.measured_v} : Points{d.line.falling_t_s, d.line.falling_measured_v};
  };
  const bool all = std::ranges::all_of(comparison.captures, [&](const auto& d) { return folded(d).x.size() > 8; });
  std::vector<Points> edges;
  for (const auto& d : comparison.captures) {
    const auto& response = which == Edge::rising ? d.rising.response : d.falling.response;
    edges.push_back(all ? folded(d) : run_together(response, d.levels.amplitude_v));
  }
  return edges;
}

/// Indices of the two curves that are told apart: after and before, or best and worst of a series.
std::pair<std::size_t, std::size_t> shown_apart(const analyzer::Comparison& comparison) {
  if (comparison.captures.size() == 2) return {1, 0};
  return {comparison.ranking.front().index, comparison.ranking.back().index};
}

/// What a curve is called at its end: two captures by their part in the comparison, more by their labels.
std::string called(const analyzer::Comparison& comparison, std::size_t index) {
  if (comparison.captures.size() == 2) return index == 0 ? "before" : "after";
  return one_line(comparison.labels[index], 20);
}

/// One row of the ranking: label, bar from zero, figure at the bar's end, verdict.
struct Bars {
  double left, right, low, high;
  double px(double margin) const { return left + (right - left) * (std::clamp(margin, low, high) - low) / (high - low); }
};

void ranked_row(Canvas& canvas, const Bars& bars, double y, const analyzer::Ranked& ranked, const std::string& label) {
  canvas.text(bars.left - 14, y + 5, one_line(label, 30), "label", "end");
  if (!ranked.margin) return canvas.text(bars.px(0) + 6, y + 5, one_line(ranked.margin.missing, 40), "tick");
  const double zero = bars.px(0), end = bars.px(*ranked.margin);
  const bool broken = *ranked.margin < 0;
  canvas.add(fmt::format(R"(<rect {} x="{:.1f}" y="{:.1f}" width="{:.1f}" height="16"/>)", look(broken ? "predicted-band" : "measured-band"),
                         std::min(zero, end), y - 8, std::max(1.0, std::abs(end - zero))));
  canvas.text(std::max(zero, end) + 6, y + 5, number(*ranked.margin, 2), broken ? "predicted-text" : "measured-text");
}

}  // namespace

Figure edges_overlaid(const analyzer::Comparison& comparison, Edge which, Size size) {
  std::vector<double> values;
  double first = 0, last = 0;
  const auto edges = edges_of(comparison, which);
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const auto& edge = edges[i];
    if (edge.x.empty()) return no_waveform(comparison.captures[i], "one of the captures has too few edges to build one edge from all of them");
    values.insert(values.end(), edge.y.begin(), edge.y.end());
    first = std::min(first, edge.x.front());
    last = std::max(last, edge.x.back());
  }
  const bool rising = which == Edge::rising;
  Canvas canvas(size, rising ? "Rising edges of all captures" : "Falling edges of all captures");
  Panel panel(canvas, plot_area(size, comparison.captures.size() == 2 ? 98 : 186), {first, last, "s", "from the 50 % instant"}, voltage_axis(comparison.captures.front(), values));
  const auto [solid, dashed] = shown_apart(comparison);
  for (std::size_t i = 0; i < comparison.captures.size(); ++i) {
    if (i != solid && i != dashed) panel.curve(edges[i], "base");
  }
  for (const auto& [index, name] : {std::pair{dashed, std::string("predicted")}, std::pair{solid, std::string("measured")}}) {
    panel.curve(edges[index], name);
    panel.edge_label(edges[index].y.back(), called(comparison, index), name + "-text");
  }
  draw_thresholds(panel, comparison.captures.front());
  panel.finish();
  const std::string what = std::string(rising ? "Rising" : "Falling") + " edges laid over each other on their 50 % instant, in one scale: ";
  return {canvas.finish(), what + (comparison.captures.size() == 2 ? "before dashed, after solid." : "the best solid, the worst dashed, the others thin."), {}};
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

int ranking_height(const analyzer::Comparison& comparison) {
  return kRankingTop + kRankingRow * static_cast<int>(comparison.ranking.size()) + 14;
}

Figure ranking(const analyzer::Comparison& comparison, Size size) {
  std::vector<double> margins;
  for (const auto& ranked : comparison.ranking)
    if (ranked.margin) margins.push_back(*ranked.margin);
  if (margins.empty()) return missing_figure("no capture has a decided check");
  size.height = ranking_height(comparison);
  Canvas canvas(size, "Smallest margin of each capture, best first");
  const Axis axis = axis_of(margins, "1", {0});
  const Bars bars{216, size.width - 150.0, axis.low, axis.high};
  canvas.text(bars.px(0), 18, "limit", "tick", "middle");
  canvas.add(fmt::format(R"(<path {} d="M{:.1f} 24V{}"/>)", look("limit"), bars.px(0), size.height - 8));
  double y = kRankingTop + 8;
  for (const auto& ranked : comparison.ranking) {
    ranked_row(canvas, bars, y, ranked, comparison.labels[ranked.index]);
    canvas.text(size.width - 8, y + 5, spoken(ranked.result), "tick", "end");
    y += kRankingRow;
  }
  return {canvas.finish(), "Smallest margin in half-widths of the window that limits it, or of the limit itself; left of the line a limit is broken.", {}};
}

}  // namespace pulsewright::reports::figures
