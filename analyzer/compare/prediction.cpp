#include "analyzer/compare/prediction.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace pulsewright::analyzer {

PredictionKept no_prediction(std::string why) {
  PredictionKept none;
  none.absent_because = why;
  none.rms_error_v = none.rms_error_ratio = none.overshoot_error = none.within_band_ratio = Measured::none(std::move(why));
  return none;
}

namespace {

PredictionKept absent(std::string why) { return no_prediction(std::move(why)); }

const Candidate* predicted_for(const Diagnosis& before, double ohm) {
  const Candidate* nearest = nullptr;
  for (const auto& candidate : before.suggestion.candidates)
    if (std::abs(candidate.ohm - ohm) <= 2 + 0.05 * ohm &&
        (nearest == nullptr || std::abs(candidate.ohm - ohm) < std::abs(nearest->ohm - ohm)))
      nearest = &candidate;
  return nearest;
}

/// Linear interpolation of `y` over ascending `x`; `at` must lie inside.
double interpolate(const std::vector<double>& x, const std::vector<double>& y, double at) {
  const auto after = std::lower_bound(x.begin(), x.end(), at);
  if (after == x.begin()) return y.front();
  const auto i = static_cast<std::size_t>(after - x.begin());
  const double part = (at - x[i - 1]) / (x[i] - x[i - 1]);
  return y[i - 1] + part * (y[i] - y[i - 1]);
}

}  // namespace

PredictionKept prediction_kept(const Diagnosis& before, const Diagnosis& after) {
  if (!after.settings.series_ohm) return absent("the resistor fitted in the later capture is not stated");
  const Candidate* candidate = predicted_for(before, *after.settings.series_ohm);
  if (candidate == nullptr) return absent("the earlier diagnosis predicts nothing for the resistor fitted now");
  const bool probed = !candidate->as_probed.t_s.empty();
  const Waveform& predicted = probed ? candidate->as_probed : candidate->waveform;
  const EdgeResponse& measured = after.rising.response;
  if (predicted.t_s.size() < 2 || measured.empty()) return absent("no predicted or no measured edge");

  PredictionKept kept{.present = true, .absent_because = {}, .ohm = candidate->ohm, .rms_error_v = {}, .rms_error_ratio = {},
                      .overshoot_error = {}, .within_band_ratio = {}, .within_band = false, .predicted = {}, .measured_v = {}, .text = {}};
  const double noise_v = after.capture.noise_rms_v.value.value_or(0.0);
  double squares = 0;
  std::size_t inside = 0;
  for (std::size_t i = 0; i < measured.t_s.size(); ++i) {
    const double t_s = measured.t_s[i];
    if (t_s < predicted.t_s.front() || t_s > predicted.t_s.back()) continue;
    const double v = interpolate(predicted.t_s, predicted.v, t_s);
    const double band_v = predicted.band_v.empty() ? 0 : interpolate(predicted.t_s, predicted.band_v, t_s);
    const double error_v = measured.v[i] - v;
    squares += error_v * error_v;
    inside += std::abs(error_v) <= band_v + 2 * noise_v;
    kept.predicted.t_s.push_back(t_s);
    kept.predicted.v.push_back(v);
    kept.predicted.band_v.push_back(band_v);
    kept.measured_v.push_back(measured.v[i]);
  }
  if (kept.measured_v.size() < 8) return absent("the measured and the predicted edge hardly overlap in time");

  const double points = static_cast<double>(kept.measured_v.size());
  kept.rms_error_v = Measured::of(std::sqrt(squares / points));
  kept.rms_error_ratio = after.levels.amplitude_v && *after.levels.amplitude_v > 0
                             ? Measured::of(*kept.rms_error_v / *after.levels.amplitude_v)
                             : Measured::none("no amplitude");
  kept.within_band_ratio = Measured::of(static_cast<double>(inside) / points);
  kept.within_band = *kept.within_band_ratio >= 0.9;
  if (after.rising.overshoot_ratio && candidate->overshoot_ratio) {
    kept.overshoot_error = Measured::of(*after.rising.overshoot_ratio - *candidate->overshoot_ratio,
                                        std::hypot(after.rising.overshoot_ratio.u, candidate->overshoot_ratio.u));
  } else {
    kept.overshoot_error = Measured::none("no overshoot to compare");
  }
  kept.text = kept.within_band ? "The model held: the edge came out inside the predicted band."
                               : "The model did not hold: the edge left the predicted band; take the suggestion from the later capture.";
  if (!probed) kept.text += " The prediction is for the line without the probe.";
  return kept;
}

}  // namespace pulsewright::analyzer
