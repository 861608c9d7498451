#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

namespace {

using analyzer::Candidate;
using analyzer::Suggestion;

/// Candidates stand side by side whatever their ratio: preferred values crowd on a linear axis.
double place_of(const std::vector<Candidate>& candidates, double ohm) {
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    if (candidates[i].ohm < ohm) continue;
    if (i == 0) return 0;
    const double below = candidates[i - 1].ohm, above = candidates[i].ohm;
    return static_cast<double>(i) - (above - ohm) / (above - below);
  }
  return static_cast<double>(candidates.size()) - 1;
}

void ohm_labels(Canvas& canvas, const Panel& panel, Rect area, const std::vector<Candidate>& candidates) {
  const std::size_t every = std::max<std::size_t>((candidates.size() + 9) / 10, 1);
  for (std::size_t i = 0; i < candidates.size(); i += every)
    canvas.text(panel.px(static_cast<double>(i)), area.bottom + 17, number(candidates[i].ohm), "tick", "middle");
  canvas.text(area.right, area.bottom + 33, "series resistor, Ω", "tick", "end");
}

void acceptable(Panel& panel, const Suggestion& s, double low, double high) {
  if (!s.acceptable_low_ohm || !s.acceptable_high_ohm) return;
  const double from = place_of(s.candidates, *s.acceptable_low_ohm) - 0.5, to = place_of(s.candidates, *s.acceptable_high_ohm) + 0.5;
  panel.region(from, to, low, high, "window");
}

}  // namespace

Figure margin_curve(const analyzer::Diagnosis& diagnosis, Size size) {
  const Suggestion& s = diagnosis.suggestion;
  Points points;
  std::vector<double> half, margins;
  for (std::size_t i = 0; i < s.candidates.size(); ++i) {
    if (!s.candidates[i].margin) continue;
    points.x.push_back(static_cast<double>(i));
    points.y.push_back(std::clamp(*s.candidates[i].margin, -1.0, 1.5));
    margins.push_back(*s.candidates[i].margin);
    half.push_back(2 * s.candidates[i].margin.u);
  }
  if (points.x.size() < 2) return missing_figure("no margins were computed over the preferred values");
  Canvas canvas(size, "Smallest margin over the preferred resistor values");
  Rect area = plot_area(size, 116);
  area.top += 14;
  Axis margin = axis_of(points.y, "1", {0});
  margin.name = "margin";
  Panel panel(canvas, area, {-0.5, static_cast<double>(s.candidates.size()) - 0.5, "1", {}}, margin, false);
  acceptable(panel, s, margin.low, margin.high);
  panel.band(points.x, margins, half, "predicted-band");
  panel.across(0, "base", "passes above 0");
  panel.curve(points, "predicted");
  for (std::size_t i = 0; i < points.x.size(); ++i) panel.dot(points.x[i], points.y[i], "small-dot", 3);
  if (s.series_ohm_now) panel.upright(place_of(s.candidates, *s.series_ohm_now), "mark", "now " + resistance(*s.series_ohm_now), 0);
  if (s.series_ohm) panel.upright(place_of(s.candidates, *s.series_ohm), "mark", "fit " + resistance(*s.series_ohm), 1);
  ohm_labels(canvas, panel, area, s.candidates);
  panel.finish();
  return {canvas.finish(),
          "Smallest margin over all criteria for every preferred value; below 0 a limit is broken. Shaded: the acceptable range.",
          {}};
}

}  // namespace pulsewright::reports::figures
