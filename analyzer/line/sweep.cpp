#include "analyzer/line/sweep.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "analyzer/line/member_line.hpp"
#include "analyzer/verdict/phrases.hpp"
#include "importers/parallel.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t waveform_points = 160;
constexpr double least_driver_ohm = 2;

// What one member shows behind one resistor.
struct View {
  Margins margins;
  double overshoot = 0, undershoot = 0, duration_s = 0;
  std::vector<double> service_v, probed_v;
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

// Where the best member's curves are sampled, 0 being its 50 % instant, and how long after the first arrival that comes.
struct Instants {
  std::vector<double> t_s;
  double service_s, probed_s;
};

Instants instants_of(std::vector<double> t_s, const Behind& best) {
  const auto middle_after = [](const StepResponseGrid& step, double arrival_s) {
    const double found = step.first_crossing_s(0.5 * step.final_v);
    return (std::isfinite(found) ? found : 0) - arrival_s;
  };
  return {std::move(t_s), middle_after(best.service, best.service_arrival_s), middle_after(best.probed, best.probed_arrival_s)};
}

// Every member as late as its first arrival is.
View view_of(const Behind& shown, const LineBelief::Member& member, const Instants& at) {
  View view{.margins = shown.margins, .overshoot = shown.overshoot, .undershoot = shown.undershoot, .duration_s = shown.duration_s, .service_v = {}, .probed_v = {}};
  const double swing_v = member.high_v - member.low_v;
  for (const double t : at.t_s) {
    view.service_v.push_back(member.low_v + swing_v * shown.service.at(t + shown.service_arrival_s + at.service_s));
    view.probed_v.push_back(member.low_v + swing_v * shown.probed.at(t + shown.probed_arrival_s + at.probed_s));
  }
  return view;
}

// A value between two, `share` of the way from one to the other.
double between(double a, double b, double share) { return a + share * (b - a); }

// Applies to every figure of a view whose differences are judged.
template <class Function>
void each_figure(View& view, Function function) {
  for (const auto field : {&Margins::high, &Margins::low, &Margins::width, &Margins::stress, &Margins::high_v, &Margins::low_v, &Margins::zero_width_s, &Margins::one_width_s})
    function(view.margins.*field, [field](const View& of) { return of.margins.*field; });
  for (const auto field : {&View::overshoot, &View::undershoot}) function(view.*field, [field](const View& of) { return of.*field; });
}

// By how much the source resistance may grow from one resistor to the next for which all members are solved. About the match, where
// margins have their peak, every resistor is.
double growth_at(double source_ratio) {
  if (source_ratio > 2.5) return 1.3;
  return source_ratio > 0.6 && source_ratio < 1.5 ? 1 : 1.15;
}

std::vector<std::size_t> anchors_of(const std::vector<double>& ohms, const LineBelief::Member& best) {
  std::vector<std::size_t> anchors;
  const auto source_ohm = [&](std::size_t k) { return best.rising_ohm + ohms[k]; };
  for (std::size_t k = 0; k < ohms.size(); ++k) {
    if (anchors.empty() || k + 1 == ohms.size() || source_ohm(k + 1) > growth_at(source_ohm(k) / best.line.z0_ohm) * source_ohm(anchors.back()))
      anchors.push_back(k);
  }
  return anchors;
}

// A member between two anchors: its figures as far from the best member's as at the anchors (the duration, which is above zero, by the
// same factor), its curves between theirs.
View view_between(const View& from, const View& to, const View& best_from, const View& best_to, const View& best, double share) {
  View view = from;
  each_figure(view, [&](double& figure, auto of) { figure = of(best) + between(of(from) - of(best_from), of(to) - of(best_to), share); });
  view.duration_s = best.duration_s * std::pow(from.duration_s / best_from.duration_s, 1 - share) * std::pow(to.duration_s / best_to.duration_s, share);
  for (std::size_t i = 0; i < view.service_v.size(); ++i)
    view.service_v[i] = between(from.service_v[i], to.service_v[i], share), view.probed_v[i] = between(from.probed_v[i], to.probed_v[i], share);
  return view;
}

struct SweepPlan {
  const LineBelief& belief;
  const std::vector<double>& ohms;
  BitPattern pattern;
  const Receiver& receiver;
  std::vector<std::size_t> anchors;
  std::vector<Instants> instants;  // for each resistor
};

using Views = std::vector<std::vector<View>>;  // for each resistor, for each member

// In parts side by side, with as many resistors each.
void add_best(SweepPlan& plan, Views& views) {
  const auto& best = plan.belief.members.front();
  plan.instants.resize(plan.ohms.size());
  const std::size_t parts = std::min<std::size_t>(importers::thread_count(), 4);  // each solves the line anew
  importers::for_each_index(parts, parts, [&](std::size_t part) {
    MemberLine line(best, plan.belief.probe_f);
    for (std::size_t k = part * plan.ohms.size() / parts; k < (part + 1) * plan.ohms.size() / parts; ++k) {
      const auto shown = line.behind(plan.ohms[k], plan.pattern, plan.receiver);
      plan.instants[k] = instants_of(waveform_times(best.line, best.rising_ohm + plan.ohms[k], plan.pattern.times.one_high_s), shown);
      views[k].front() = view_of(shown, best, plan.instants[k]);
    }
  });
}

void add_member(const SweepPlan& plan, std::size_t m, Views& views) {
  const auto& member = plan.belief.members[m];
  const auto& anchors = plan.anchors;
  const auto& ohms = plan.ohms;
  MemberLine line(member, plan.belief.probe_f);
  Behind here = line.behind(ohms[anchors.front()], plan.pattern, plan.receiver);
  views[anchors.front()][m] = view_of(here, member, plan.instants[anchors.front()]);
  for (std::size_t a = 1; a < anchors.size(); ++a) {
    const std::size_t from = anchors[a - 1], to = anchors[a];
    Behind next = line.behind(ohms[to], plan.pattern, plan.receiver);
    views[to][m] = view_of(next, member, plan.instants[to]);
    for (std::size_t k = from + 1; k < to; ++k)
      views[k][m] = view_between(view_of(here, member, plan.instants[k]), view_of(next, member, plan.instants[k]), views[from].front(), views[to].front(),
                                 views[k].front(), (ohms[k] - ohms[from]) / (ohms[to] - ohms[from]));
    here = std::move(next);
  }
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

// Where one line takes 90 % at a blow and the next a round trip later, a symmetric uncertainty would reach below zero: the longest
// edge that is believed possible is told instead, and the likeliest.
Measured duration_of(const std::vector<View>& views) {
  const double best_s = views.front().duration_s;
  if (!std::isfinite(best_s)) return Measured::none("the edge does not reach 90 %");
  double longest_s = best_s;
  for (const auto& view : views) {
    if (!std::isfinite(view.duration_s)) return Measured::none("the edge may not reach 90 %");
    longest_s = std::max(longest_s, view.duration_s);
  }
  auto duration = measured(views, [](const View& v) { return v.duration_s; });
  if (best_s > 2 * duration.u) return duration;
  return Measured::none("at most " + phrases::seconds(std::max(longest_s, best_s + 2 * duration.u)) + ", most likely " + phrases::seconds(best_s));
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
  swept.best_duration_s = views.front().duration_s;
  swept.score = all.mean - 0.5 * all.sd;
  for (const auto& view : views) {
    swept.share_works += view.margins.functional() > 0 ? 1 : 0;
    swept.share_passes += view.margins.all() > 0 ? 1 : 0;
  }
  swept.share_works /= static_cast<double>(views.size());
  swept.share_passes /= static_cast<double>(views.size());
  c.overshoot_ratio = measured(views, [](const View& v) { return v.overshoot; }, 0.01);
  c.undershoot_ratio = measured(views, [](const View& v) { return v.undershoot; }, 0.01);
  c.duration_10_90_s = duration_of(views);
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
  SweepPlan plan{belief, ohms, worst_case_pattern(times), receiver, anchors_of(ohms, belief.members.front()), {}};
  Views views(ohms.size(), std::vector<View>(belief.members.size()));
  add_best(plan, views);
  importers::for_each_index(belief.members.size() - 1, importers::thread_count(), [&](std::size_t m) { add_member(plan, m + 1, views); });
  std::vector<SweptValue> swept;
  for (std::size_t k = 0; k < ohms.size(); ++k) swept.push_back(sum_up(ohms[k], views[k], plan.instants[k].t_s, belief.model_u_v));
  return swept;
}

}  // namespace pulsewright::analyzer
