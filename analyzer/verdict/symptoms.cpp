#include "analyzer/verdict/symptoms.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace pulsewright::analyzer {

namespace {

class Examination {
 public:
  Examination(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness) : d_(diagnosis), fitness_(fitness) {
    s_.probe_rings = seen.probe_rings;
  }

  Symptoms all() {
    for (const auto* edge : {&d_.rising, &d_.falling}) {
      if (edge->duration_10_90_s && *edge->duration_10_90_s > s_.slowest_s) s_.slowest = edge->duration_10_90_s;
      s_.slowest_s = s_.slowest.value.value_or(0);
      if (edge->overshoot_ratio && *edge->overshoot_ratio > s_.overshoot_ratio) overshoot_is(edge->overshoot_ratio);
    }
    leave_the_probes_share_out();
    look_at_wandering_levels();
    s_.slow = s_.slowest_s >= slow_edge_s || (!d_.capture.logic && (unfinished(d_.rising) || unfinished(d_.falling)));
    look_at_the_peaks();
    distrust_the_levels_of_a_slow_line();
    return s_;
  }

 private:
  void overshoot_is(Measured overshoot) {
    s_.overshoot_ratio = overshoot.value.value_or(0);
    s_.overshoot = std::move(overshoot);
  }

  // Of an overshoot with a ring of the probe beside that of the line.
  void leave_the_probes_share_out() {
    const auto& share = d_.ringing.probe_amplitude_ratio;
    if (share && s_.overshoot) overshoot_is(Measured::of(std::max(0.0, s_.overshoot_ratio - *share), std::hypot(s_.overshoot.u, share.u)));
  }

  // Bits and line leave the low level of a long pause alone. Where it wanders, edges and peaks against one level for all say
  // little. Of a supply that gives way along the frame the first pulses stand above the level of all, which is no overshoot.
  void look_at_wandering_levels() {
    const auto& levels = d_.levels;
    if (!levels.amplitude_v || d_.capture.logic) return;
    const auto &rest = levels.low_rest_wander_v, &drift = levels.high_drift_v;
    s_.wanders_at_rest = rest && *rest - 2 * rest.u > 0.15 * *levels.amplitude_v && fitness_.find("ac-coupled") == nullptr;
    if (!drift || *drift + 3 * drift.u > -0.1 * *levels.amplitude_v || !levels.high_plateau_max_v || !levels.peak_max_v) return;
    const double own_ratio = std::max(0.0, *levels.peak_max_v - *levels.high_plateau_max_v) / *levels.amplitude_v;
    if (own_ratio <= s_.overshoot_ratio) overshoot_is(Measured::of(own_ratio, levels.high_plateau_max_v.u / *levels.amplitude_v));
  }

  // A ring that returns through the thresholds hides the settled levels; excursions beyond both rails still show it.
  void look_at_the_peaks() {
    if (!d_.levels.peak_max_v || !d_.levels.peak_min_v) return;
    // The largest of that many values with noise stands so far out without any ring (normal distribution).
    const double noise_v = noise_rms_v() * std::sqrt(2 * std::log(static_cast<double>(std::max<std::size_t>(d_.capture.samples, 1))));
    const double beyond_v = std::min(*d_.levels.peak_max_v - d_.settings.supply_v, -*d_.levels.peak_min_v) - noise_v;
    if (!returns() && beyond_v < 0.7 * d_.settings.supply_v) return;
    s_.rings_hard = beyond_v > 0.2 * d_.settings.supply_v;
    if (beyond_v / d_.settings.supply_v > s_.overshoot_ratio) overshoot_is(Measured::of(beyond_v / d_.settings.supply_v));
  }

  // A ring swings below 0 V as well as above the high level. Slow edges without that are a line that does not settle
  // within a bit: what looks like overshoot is the level that only the longest pulses come near to.
  void distrust_the_levels_of_a_slow_line() {
    const auto& levels = d_.levels;
    if (!s_.slow || s_.rings_hard || s_.wanders_at_rest || !levels.amplitude_v || !levels.high_v || !levels.peak_max_v || !levels.peak_min_v)
      return;
    const double noise_v = 4 * noise_rms_v() + 0.05 * *levels.amplitude_v;
    if (-*levels.peak_min_v > noise_v) return;
    const bool peaks_above = *levels.peak_max_v - *levels.high_v > noise_v + 0.03 * *levels.amplitude_v;
    s_.unsettled = peaks_above || s_.slowest_s > 0.4 * d_.settings.windows.t1h.typical_s();
    overshoot_is(Measured::none("the line does not settle within a bit"));
  }

  // An edge that the next one overtakes; "at most" marks one that is too fast for the samples instead.
  static bool unfinished(const TransitionSummary& edge) {
    return edge.count > 0 && !edge.duration_10_90_s && !edge.duration_10_90_s.missing.starts_with("at most");
  }

  double noise_rms_v() const { return d_.capture.noise_rms_v.value.value_or(0); }

  bool returns() const {
    const Check* check = find_check(d_.checks, "recrossing");
    return check != nullptr && (check->result == Outcome::fail || check->result == Outcome::marginal);
  }

  const Diagnosis& d_;
  const Fitness& fitness_;
  Symptoms s_;
};

}  // namespace

Symptoms symptoms_of(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness) {
  return Examination(diagnosis, seen, fitness).all();
}

}  // namespace pulsewright::analyzer
