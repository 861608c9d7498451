#include <algorithm>
#include <limits>

#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

namespace {

using analyzer::Candidate;
using analyzer::Diagnosis;

/// Time that measured edge and predictions share.
Axis common_time(const Diagnosis& d, const Candidate& candidate) {
  const auto& now = d.rising.response;
  const auto& then = candidate.waveform;
  double first = then.t_s.front(), last = then.t_s.back();
  if (!now.empty()) first = std::max(first, now.t_s.front()), last = std::min(last, now.t_s.back());
  if (!(last > first)) first = then.t_s.front(), last = then.t_s.back();
  return {first, last > first ? last : first + 1e-9, "s", "from the 50 % instant"};
}

/// All candidates fit on one axis, so that the curve can be exchanged without the scale jumping.
Axis common_voltage(const Diagnosis& d, const Candidate& candidate, bool every_candidate) {
  std::vector<double> values = d.rising.response.v;
  const auto take = [&](const analyzer::Waveform& w) {
    for (std::size_t i = 0; i < w.v.size(); ++i) {
      const double band = i < w.band_v.size() ? w.band_v[i] : 0;
      values.push_back(w.v[i] - band);
      values.push_back(w.v[i] + band);
    }
  };
  take(candidate.waveform);
  if (every_candidate)
    for (const auto& other : d.suggestion.candidates) take(other.waveform);
  return voltage_axis(d, values, {d.settings.vil_v, d.settings.vih_v});
}

std::string name_now(const Diagnosis& d) {
  const auto& now = d.suggestion.series_ohm_now;
  return now ? "now, " + resistance(*now) : std::string("now");
}

Figure before_and_after(const Diagnosis& d, const Candidate& candidate, bool every_candidate, Size size, std::string_view label) {
  Canvas canvas(size, label);
  Panel panel(canvas, plot_area(size, 98), common_time(d, candidate), common_voltage(d, candidate, every_candidate));
  const auto& now = d.rising.response;
  const auto& then = candidate.waveform;
  if (!now.empty()) panel.curve(run_together(now, d.levels.amplitude_v), "measured-fine");
  panel.band(then.t_s, then.v, then.band_v, "predicted-band", "band");
  panel.curve({then.t_s, then.v}, "predicted", "curve");
  draw_thresholds(panel, d);
  panel.finish();
  const double left = plot_area(size).left;
  if (!now.empty()) canvas.text(left + 4, 14, name_now(d), "measured-text");
  canvas.text(left + (now.empty() ? 4 : 130), 14, "predicted, " + resistance(candidate.ohm), "predicted-text");
  return {canvas.finish(), {}, {}};
}

}  // namespace

Figure prediction(const Diagnosis& diagnosis, Size size) {
  const auto& predicted = diagnosis.suggestion.predicted;
  if (!predicted || predicted->waveform.t_s.empty())
    return no_waveform(diagnosis, "no waveform was predicted for this line");
  auto figure = before_and_after(diagnosis, *predicted, false, size, "The rising edge now and as predicted with the suggested resistor");
  figure.caption = "The rising edge as captured, and as predicted at the pixel with " + resistance(predicted->ohm) +
                   "; the pale band holds it with 95 % confidence.";
  return figure;
}

Figure candidate_waveform(const Diagnosis& diagnosis, const Candidate& candidate, Size size) {
  if (candidate.waveform.t_s.empty()) return no_waveform(diagnosis, "no waveform was predicted for this resistor");
  auto figure = before_and_after(diagnosis, candidate, true, size, "The rising edge as predicted with the chosen resistor");
  figure.caption = "Rising edge at the pixel with the chosen resistor, against the edge as captured.";
  return figure;
}

}  // namespace pulsewright::reports::figures
