#include "analyzer/line/sweep.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t waveform_points = 160;
constexpr double least_driver_ohm = 2;

struct PatternWaveform {
  std::vector<double> v;
  double first_s = 0, step_s = 0, arrival_s = 0;
  BitPattern pattern;  // edges moved onto the grid
};

// What one member shows behind one resistor.
struct View {
  Margins margins;
  double overshoot = 0, undershoot = 0, duration_s = 0;
  std::vector<double> service_v, probed_v;
};

// Points of a step before it stays within a fraction of a per mille of where it ends.
std::size_t settled_after(const StepResponseGrid& step) {
  std::size_t points = step.v.size();
  while (points > 0 && std::abs(step.v[points - 1] - step.final_v) < 2e-4) --points;
  return points;
}

// Adds every edge at its nearest grid point.
PatternWaveform lay(const StepResponseGrid& rising, const StepResponseGrid& falling, const BitPattern& pattern, double low_v, double high_v) {
  PatternWaveform made{.v = {}, .first_s = 0, .step_s = rising.step_s, .arrival_s = 0, .pattern = pattern};
  const double onset_s = std::max(rising.first_crossing_s(0.02), 0.0);
  made.arrival_s = std::isfinite(onset_s) ? onset_s : 0;
  const auto lead = static_cast<std::size_t>(std::lround(-rising.first_s / rising.step_s));
  const std::array<std::size_t, 2> lengths{settled_after(falling) - lead, settled_after(rising) - lead};
  const auto count = static_cast<std::size_t>((pattern.end_s + made.arrival_s) / made.step_s) + 2;
  made.v.assign(count, 0);
  std::vector<double> settled(count + 1, 0);
  settled[0] = low_v;
  for (auto& edge : made.pattern.edges) {
    const auto start = static_cast<std::size_t>(std::lround(edge.time_s / made.step_s));
    edge.time_s = static_cast<double>(start) * made.step_s;
    const auto& step = edge.rising ? rising : falling;
    const double swing = edge.rising ? high_v - low_v : low_v - high_v;
    const std::size_t to = std::min(count, start + lengths[edge.rising ? 1 : 0]);
    for (std::size_t i = start; i < to; ++i) made.v[i] += swing * step.v[i - start + lead];
    settled[to] += swing * step.final_v;
  }
  add_running_sum(settled, made.v);
  made.pattern.end_s = std::round(pattern.end_s / made.step_s) * made.step_s;
  return made;
}

// A line on a grid of its own.
struct Solved {
  LineGrid grid;
  LineWaves waves;
  LineSpectrum spectrum;
  std::optional<LineSpectrum> bare;  // without instrument

  Solved(const LineParameters& line, const LineGrid& on) : grid(on), waves(line, on), spectrum(line, LineEnd::far, on, waves) {}
};

// One member behind any resistor, as seen by an instrument or (bandwidth 0) in service: a short grid for the useful resistors, a
// long one for the slow rest.
class MemberLine {
 public:
  MemberLine(const LineBelief::Member& member, const LineParameters& seen) : m_(member), seen_(seen), split_ohm_(2.5 * seen.z0_ohm) {}

  StepResponseGrid rising(double series_ohm) { return solved(series_ohm).spectrum.step_response(m_.rising_ohm + series_ohm); }
  StepResponseGrid falling(double series_ohm) { return solved(series_ohm).spectrum.step_response(m_.falling_ohm + series_ohm); }

  // The rising step as the clamps leave it; where they conduct, that of this swing alone.
  StepResponseGrid clamped(double series_ohm, StepResponseGrid step) {
    if (!m_.clamp) return step;
    const double swing_v = m_.high_v - m_.low_v;
    auto far_v = seen_.bandwidth_hz == 0 ? step.v : without_instrument(series_ohm);
    for (auto& v : far_v) v = m_.low_v + swing_v * v;
    if (const auto effect = clamps(series_ohm, far_v)) {
      const auto added_v = effect->on(far_v, *m_.clamp);
      for (std::size_t i = 0; i < step.v.size(); ++i) step.v[i] += added_v[i] / swing_v;
    }
    return step;
  }

  // A waveform of the far node in service as the clamps leave it.
  std::vector<double> clamped_v(double series_ohm, std::vector<double> far_v) {
    if (const auto effect = clamps(series_ohm, far_v)) {
      const auto added_v = effect->on(far_v, *m_.clamp);
      for (std::size_t i = 0; i < far_v.size(); ++i) far_v[i] += added_v[i];
    }
    return far_v;
  }

 private:
  // What the clamps do, where they would conduct at one of these voltages of the far node.
  std::optional<ClampEffect> clamps(double series_ohm, const std::vector<double>& far_v) {
    if (!m_.clamp || std::none_of(far_v.begin(), far_v.end(), [&](double v) { return m_.clamp->conduct_at(v); })) return {};
    return ClampEffect(seen_, LineEnd::far, (m_.rising_ohm + m_.falling_ohm) / 2 + series_ohm, solved(series_ohm).grid.step_s());
  }

  std::vector<double> without_instrument(double series_ohm) {
    auto& on = solved(series_ohm);
    auto line = seen_;
    line.bandwidth_hz = 0;
    if (!on.bare) on.bare.emplace(line, LineEnd::far, on.grid, on.waves);
    return on.bare->step_response(m_.rising_ohm + series_ohm).v;
  }

  Solved& solved(double series_ohm) {
    auto& place = std::max(m_.rising_ohm, m_.falling_ohm) + series_ohm <= split_ohm_ ? fast_ : slow_;
    if (!place) {
      const double reach = &place == &fast_ ? split_ohm_ : std::max(1100.0, 1000 + m_.falling_ohm);
      place.emplace(seen_, LineGrid::fit_for(seen_, reach));
    }
    return *place;
  }

  const LineBelief::Member& m_;
  LineParameters seen_;
  double split_ohm_;
  std::optional<Solved> fast_, slow_;
};

void shape_of(const StepResponseGrid& step, View& view) {
  const auto peak = std::max_element(step.v.begin(), step.v.end());
  view.overshoot = std::max(0.0, *peak - step.final_v);
  const double t90 = step.first_crossing_s(0.9 * step.final_v);
  view.duration_s = t90 - step.first_crossing_s(0.1 * step.final_v);
  const auto from = view.overshoot > 0.005 ? peak : step.v.end();
  view.undershoot = from == step.v.end() ? 0 : std::max(0.0, step.final_v - *std::min_element(from, step.v.end()));
}

double crossing_or_0(const StepResponseGrid& step, double level) {
  const double found = step.first_crossing_s(level * step.final_v);
  return std::isfinite(found) ? found : 0;
}

// The middle of what arrives first. The 50 % instant would not do to compare members: where it falls on a step of a staircase, a
// little more or less resistance moves it by a whole step.
double arrival_s(const StepResponseGrid& step, double source_ohm, double z0_ohm) {
  return crossing_or_0(step, std::min(0.5, z0_ohm / (source_ohm + z0_ohm)));
}

// What the members show over the best one's instants, each as late as its first arrival is.
class Sampling {
 public:
  explicit Sampling(std::vector<double> t_s) : t_s_(std::move(t_s)) {}
  const std::vector<double>& t_s() const { return t_s_; }

  // The first step sampled is the best member's, whose 50 % instant is 0.
  std::vector<double> sample(const StepResponseGrid& step, double source_ohm, const LineBelief::Member& member) {
    const double arrival = arrival_s(step, source_ohm, member.line.z0_ohm);
    if (!middle_after_arrival_s_) middle_after_arrival_s_ = crossing_or_0(step, 0.5) - arrival;
    std::vector<double> v;
    for (const double t : t_s_) v.push_back(member.low_v + (member.high_v - member.low_v) * step.at(t + arrival + *middle_after_arrival_s_));
    return v;
  }

 private:
  std::vector<double> t_s_;
  std::optional<double> middle_after_arrival_s_;
};

// Dense about the edge and the first arrivals, thinner later.
std::vector<double> waveform_times(const LineParameters& line, double source_ohm, double one_high_s) {
  const double slow_s = source_ohm * (line.delay_s / line.z0_ohm + line.far_f);
  const double end_s = std::clamp(std::max(10 * line.delay_s, 3 * slow_s), 100e-9, std::max(one_high_s, 600e-9));
  const double before_s = std::clamp(2 * slow_s, 20e-9, 120e-9);
  std::vector<double> t;
  for (std::size_t i = 0; i < waveform_points; ++i)
    t.push_back(-before_s + (end_s + before_s) * static_cast<double>(i) / static_cast<double>(waveform_points - 1));
  return t;
}

struct Statistics {
  double mean = 0, sd = 0;
};

template <class Get>
Statistics statistics(const std::vector<View>& views, Get get) {
  double sum = 0, squares = 0;
  for (const auto& view : views) sum += get(view);
  const double mean = sum / static_cast<double>(views.size());
  for (const auto& view : views) squares += std::pow(get(view) - mean, 2);
  return {mean, views.size() > 1 ? std::sqrt(squares / static_cast<double>(views.size() - 1)) : 0};
}

template <class Get>
Measured measured(const std::vector<View>& views, Get get, double floor_u = 0) {
  return Measured::of(get(views.front()), std::hypot(statistics(views, get).sd, floor_u));
}

Waveform waveform_of(const std::vector<View>& views, const std::vector<double>& t_s, std::vector<double> View::*which, double u_v) {
  Waveform wave{.t_s = t_s, .v = views.front().*which, .band_v = {}};
  for (std::size_t i = 0; i < t_s.size(); ++i) {
    const double sd = statistics(views, [&](const View& view) { return (view.*which)[i]; }).sd;
    wave.band_v.push_back(2 * std::hypot(sd, u_v));
  }
  return wave;
}

Outcome outcome_of(double share_works, double share_passes) {
  if (share_passes >= 0.9) return Outcome::pass;
  if (share_works >= 0.5) return Outcome::marginal;
  return Outcome::fail;
}

SweptValue sum_up(double ohm, const std::vector<View>& views, const std::vector<double>& t_s, double model_u_v) {
  SweptValue swept;
  auto& c = swept.candidate;
  c.ohm = ohm;
  const auto all = statistics(views, [](const View& v) { return v.margins.all(); });
  c.margin = Measured::of(all.mean, all.sd);
  swept.best = views.front().margins;
  swept.score = all.mean - 0.5 * all.sd;
  for (const auto& view : views) {
    swept.share_works += view.margins.functional() > 0 ? 1 : 0;
    swept.share_passes += view.margins.all() > 0 ? 1 : 0;
  }
  swept.share_works /= static_cast<double>(views.size());
  swept.share_passes /= static_cast<double>(views.size());
  c.overshoot_ratio = measured(views, [](const View& v) { return v.overshoot; }, 0.01);
  c.undershoot_ratio = measured(views, [](const View& v) { return v.undershoot; }, 0.01);
  c.duration_10_90_s = measured(views, [](const View& v) { return v.duration_s; });
  if (!std::isfinite(*c.duration_10_90_s.value)) c.duration_10_90_s = Measured::none("the edge does not reach 90 %");
  c.high_margin_v = measured(views, [](const View& v) { return v.margins.high_v; }, model_u_v);
  c.low_margin_v = measured(views, [](const View& v) { return v.margins.low_v; }, model_u_v);
  const auto width = [&](auto get) {
    return get(views.front()) > 0 ? measured(views, get, 1e-9) : Measured::none("the pulse does not reach the threshold");
  };
  c.high_width_zero_s = width([](const View& v) { return v.margins.zero_width_s; });
  c.high_width_one_s = width([](const View& v) { return v.margins.one_width_s; });
  c.outcome = outcome_of(swept.share_works, swept.share_passes);
  c.limited_by = to_words(views.front().margins.limited_by);
  c.waveform = waveform_of(views, t_s, &View::service_v, model_u_v);
  c.as_probed = waveform_of(views, t_s, &View::probed_v, model_u_v);
  return swept;
}

}  // namespace

LineBelief belief_from(const FitResult& fit, const LinePriors& priors, std::size_t draws) {
  LineBelief belief;
  belief.probe_f = priors.probe_f;
  belief.model_u_v = std::max(0.01 * (fit.best.high_v - fit.best.low_v), std::min(fit.rms_residual_v, 0.05 * (fit.best.high_v - fit.best.low_v)));
  auto points = posterior_points(fit, priors, draws);
  points.insert(points.begin(), fit.best);
  // Standard normal quantiles in an order that does not follow the draws' mirrored pairs.
  static constexpr std::array<double, 12> spread{0, 0.32, -0.67, 1.15, -0.1, -1.6, 0.67, 0.1, 1.6, -0.32, -1.15, 0.45};
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto& p = points[i];
    const double z = i == 0 ? 0 : spread[i % spread.size()];
    const double guess_ohm = std::max(least_driver_ohm, priors.driver_ohm.mean + z * priors.driver_ohm.sd);
    const double mean_ohm = (p.rising_ohm + p.falling_ohm) / 2;
    const double series_ohm = priors.series_ohm >= 0 ? priors.series_ohm : std::max(0.0, mean_ohm - guess_ohm);
    belief.members.push_back({.line = p.line,
                              .rising_ohm = std::max(least_driver_ohm, p.rising_ohm - series_ohm),
                              .falling_ohm = std::max(least_driver_ohm, p.falling_ohm - series_ohm),
                              .low_v = p.low_v,
                              .high_v = p.high_v,
                              .bandwidth_hz = p.bandwidth_hz,
                              .clamp = fit.clamped ? std::optional(p.clamp) : std::nullopt});
  }
  return belief;
}

std::vector<SweptValue> sweep(const LineBelief& belief, const std::vector<double>& ohms, const BitTimes& times,
                              const Receiver& receiver) {
  const auto pattern = worst_case_pattern(times);
  std::vector<std::vector<View>> views(ohms.size());
  std::vector<Sampling> in_service, as_probed;
  const auto& first = belief.members.front();
  for (const double ohm : ohms) in_service.emplace_back(waveform_times(first.line, first.rising_ohm + ohm, times.one_high_s));
  as_probed = in_service;
  for (const auto& member : belief.members) {
    auto probed_line = member.line;
    probed_line.far_f += belief.probe_f, probed_line.bandwidth_hz = member.bandwidth_hz;
    MemberLine line(member, member.line), probed(member, probed_line);
    for (std::size_t k = 0; k < ohms.size(); ++k) {
      auto rising = line.rising(ohms[k]);
      const auto wave = lay(rising, line.falling(ohms[k]), pattern, member.low_v, member.high_v);
      const auto edge = line.clamped(ohms[k], std::move(rising));
      View view;
      view.margins = judge_waveform(line.clamped_v(ohms[k], wave.v), wave.first_s, wave.step_s, wave.pattern, wave.arrival_s, member.low_v, member.high_v, receiver);
      shape_of(edge, view);
      view.service_v = in_service[k].sample(edge, member.rising_ohm + ohms[k], member);
      view.probed_v = as_probed[k].sample(probed.clamped(ohms[k], probed.rising(ohms[k])), member.rising_ohm + ohms[k], member);
      views[k].push_back(std::move(view));
    }
  }
  std::vector<SweptValue> swept;
  for (std::size_t k = 0; k < ohms.size(); ++k) swept.push_back(sum_up(ohms[k], views[k], in_service[k].t_s(), belief.model_u_v));
  return swept;
}

}  // namespace pulsewright::analyzer
