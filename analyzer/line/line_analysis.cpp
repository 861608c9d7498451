#include "analyzer/line/line_analysis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analyzer/line/driver_edges.hpp"
#include "analyzer/line/echo_removal.hpp"
#include "analyzer/line/fit.hpp"
#include "analyzer/line/preferred_values.hpp"
#include "analyzer/line/suggestion.hpp"
#include "analyzer/line/sweep.hpp"
#include "analyzer/line/tables.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double hopeless_residual_ratio = 0.08;  // of the swing: then no line model explains the edges
constexpr double hopeless_clamped_ratio = 0.03;   // with clamps a wrong line can come close
constexpr double doubtful_residual_ratio = 0.03;
constexpr double undetermined_delay_sd = 0.4;  // of the logarithm: then a line half or twice as long would do as well

std::string reason_against(const LineInput& input) {
  const auto& node = input.node;
  if (node.samples.size() == 0) return "a logic capture does not show the shape of an edge";
  if (node.levels == nullptr || !node.levels->low_v || !node.levels->high_v || !node.levels->amplitude_v)
    return "the levels of this capture are not known";
  if (!(*node.levels->high_v - *node.levels->low_v > 0.2)) return "the swing is too small to be a data line";
  if (node.transitions.size() < 6) return "too few edges in the record to fit a line";
  return {};
}

double sd_of(const FitResult& fit, std::size_t k) { return std::sqrt(std::max(0.0, fit.covariance[k][k])); }

// What averaging over bits with unlike histories makes R/Z0 wrong by, however quiet the record: of 320 lines of the forward model
// (random_line of the tests, seeds 77, 5150 and 8) it takes this much more for 95 % to lie within 2 u.
constexpr double least_ratio_u = 0.002;

Measured from_log(const FitResult& fit, std::size_t k, double least_ratio = 0) {
  const double value = std::exp(fit.coordinates[k]);
  return Measured::of(value, value * std::hypot(sd_of(fit, k), least_ratio));
}

double loss_db(const LineParameters& line) {
  const double f = 1 / (4 * line.delay_s);
  const double ohm = std::hypot(line.loop_ohm, line.skin_ohm * std::sqrt(f / 1e6));
  return 20 / std::numbers::ln10 * ohm / (2 * line.z0_ohm);
}

// Standard uncertainty of source_ohm = ratio * Z0 from the covariance of both logarithms.
double source_u(const FitResult& fit, double source_ohm) {
  const auto& c = fit.covariance;
  return source_ohm * std::sqrt(std::max(0.0, c[i_z0][i_z0] + c[i_ratio][i_ratio] + 2 * c[i_z0][i_ratio]));
}

void sort_out(LineFit& line, const FitResult& fit, const LinePriors& priors) {
  struct Item {
    std::size_t index;
    const char* name;
  };
  static constexpr Item items[] = {{i_ratio, "ratio of source resistance to characteristic impedance"}, {i_delay, "delay of the line"},
                                   {i_z0, "characteristic impedance"}, {i_pixel, "load capacitance"},
                                   {i_edge, "edge time of the driver"}, {i_bandwidth, "bandwidth of the instrument"},
                                   {i_loop, "direct-current loss"}, {i_skin, "skin loss"}};
  for (const auto& item : items) {
    const double sd = sd_of(fit, item.index);
    const bool found = sd < 0.5 * fit.prior_sd[item.index];
    if (found)
      line.determined.push_back(fmt::format("{}, within {:.1f} %", item.name, 100 * sd));
    else if (item.index == i_z0 || item.index == i_delay || item.index == i_ratio)
      line.assumed.push_back(fmt::format("{}: the capture hardly tells, {:.0f} % is what was assumed", item.name, 100 * sd));
  }
  line.assumed.insert(line.assumed.end(), priors.assumed.begin(), priors.assumed.end());
}

void doubt(LineFit& line, const FitResult& fit) {
  const double swing_v = fit.best.high_v - fit.best.low_v;
  static constexpr const char* names[] = {"characteristic impedance", "ratio R/Z0", "ratio of the driver's sides", "delay", "load capacitance",
                                          "edge time", "bandwidth", "direct-current loss", "skin loss", "low level", "high level",
                                          "knee of the upper clamp", "knee of the lower clamp", "resistance of the clamps"};
  if (!fit.converged) line.doubts.push_back("the fit had not settled when it was stopped");
  for (const auto k : fit.at_bound) line.doubts.push_back(std::string(names[k]) + " sits at the edge of what is plausible");
  if (fit.rms_residual_v > doubtful_residual_ratio * swing_v)
    line.doubts.push_back(fmt::format("the model misses the edges by {:.0f} % of the swing", 100 * fit.rms_residual_v / swing_v));
}

void take_curve(const FitResult& fit, bool rising, LineEnd end, std::vector<double>& t, std::vector<double>& v, std::vector<double>& model) {
  const EdgeClass* chosen = nullptr;
  for (std::size_t c = 0; c < fit.classes.size(); ++c) {
    const auto& each = fit.classes[c];
    if (each.rising != rising || each.end != end) continue;
    if (chosen != nullptr && each.t_s.back() * static_cast<double>(std::min<std::size_t>(each.members, 8)) <=
                                 chosen->t_s.back() * static_cast<double>(std::min<std::size_t>(chosen->members, 8)))
      continue;
    chosen = &each;
    model = fit.model_v[c];
  }
  if (chosen != nullptr) t = chosen->t_s, v = chosen->v;
}

LineFit describe(const FitResult& fit, const LinePriors& priors, LineEnd end) {
  LineFit line;
  line.fitted = true;
  line.z0_ohm = from_log(fit, i_z0);
  const bool echo_seen = sd_of(fit, i_delay) < undetermined_delay_sd;
  line.delay_s = echo_seen ? from_log(fit, i_delay) : Measured::none("the line is so close to its match that no echo tells");
  line.source_ratio = from_log(fit, i_ratio, least_ratio_u);
  const double source_ohm = *line.source_ratio * *line.z0_ohm;
  line.source_ohm = Measured::of(source_ohm, source_u(fit, source_ohm));
  line.driver_ohm = priors.series_ohm >= 0 ? Measured::of(source_ohm - priors.series_ohm, line.source_ohm.u)
                                           : Measured::none("the series resistor fitted now is not stated");
  line.load_f = from_log(fit, i_pixel);
  const double db = loss_db(fit.best.line);
  line.loss_db = Measured::of(db, db * std::max(sd_of(fit, i_loop), sd_of(fit, i_skin)));
  line.edge_s = from_log(fit, i_edge);
  line.rms_residual_v = Measured::of(fit.rms_residual_v);
  sort_out(line, fit, priors);
  doubt(line, fit);
  take_curve(fit, true, end, line.t_s, line.measured_v, line.model_v);
  take_curve(fit, false, end, line.falling_t_s, line.falling_measured_v, line.falling_model_v);
  return line;
}

// Widths at mid level, corrected for what the line adds to rising and falling edges.
BitTimes source_times(const FitResult& fit, const LineInput& input) {
  auto times = bit_times(input.node.transitions, input.used != nullptr ? input.used->windows : TimingWindows{});
  for (std::size_t c = 0; c < fit.classes.size(); ++c) {
    const auto& each = fit.classes[c];
    if (!each.rising || each.own + 1 >= each.edges.size() || each.before == 2) continue;
    const int next = each.class_of[each.own + 1];
    if (next < 0 || each.end != fit.classes.front().end || static_cast<std::size_t>(next) >= fit.shift_s.size()) continue;
    const double high_s = each.edges[each.own + 1].time_s + fit.shift_s[static_cast<std::size_t>(next)] - fit.shift_s[c];
    double& place = each.one ? times.one_high_s : times.zero_high_s;
    double& rest = each.one ? times.one_low_s : times.zero_low_s;
    if (!(high_s > 0.5 * place) || !(high_s < 1.5 * place)) continue;
    rest += place - high_s, place = high_s;
  }
  return times;
}

std::vector<double> candidate_ohms(std::optional<double> now) {
  auto ohms = preferred_values(PreferredSeries::e24, 1, 1000);
  if (now && *now >= 0 && std::none_of(ohms.begin(), ohms.end(), [&](double r) { return std::abs(r - *now) < 1e-9; }))
    ohms.insert(std::lower_bound(ohms.begin(), ohms.end(), *now), *now);
  return ohms;
}

// Behind the whole source that was found, whatever part of it is a resistor.
SweptValue as_it_is(const FitResult& fit, LinePriors priors, const BitTimes& times, const Receiver& receiver) {
  priors.series_ohm = 0;
  return sweep(belief_from(fit, priors), {0}, times, receiver).front();
}

LineOutcome without_fit(const LineInput& input, const LinePriors& priors, const std::string& why_not, bool one_edge_will_do = true) {
  LineOutcome outcome;
  outcome.fit.why_not = why_not;
  for (auto* each : {&outcome.fit.z0_ohm, &outcome.fit.delay_s, &outcome.fit.source_ohm, &outcome.fit.driver_ohm, &outcome.fit.source_ratio,
                     &outcome.fit.load_f, &outcome.fit.loss_db, &outcome.fit.edge_s, &outcome.fit.rms_residual_v})
    *each = Measured::none(why_not);
  std::optional<ClosedForm> form;
  const auto& node = input.node;
  if (one_edge_will_do && node.at == ProbePosition::far && node.rising != nullptr && node.levels != nullptr && node.levels->low_v && node.levels->high_v)
    form = closed_form(*node.rising, *node.levels->low_v, *node.levels->high_v, node.noise_rms_v);
  const auto now = input.stated != nullptr ? input.stated->series_ohm : std::optional<double>();
  if (form) {
    outcome.fit.source_ratio = Measured::of(form->source_ratio, form->source_ratio_u);
    if (form->delay_s) outcome.fit.delay_s = Measured::of(*form->delay_s, 0.2 * *form->delay_s);
  }
  outcome.suggestion = advise_without_fit(form, priors, now, why_not);
  return outcome;
}

LineNode aligned_by(LineNode node, const DriverEdges& edges) {
  node.transitions = edges.edges, node.alignment_ratio = edges.level_ratio;
  node.dwells = edges.dwells, node.lowest_v = edges.lowest_v, node.highest_v = edges.highest_v;
  return node;
}

FitResult fit_of(const LineInput& input, const LinePriors& priors) {
  return fit_line({.node = &input.node, .other_end = input.other_end, .same_record = input.same_record, .priors = priors});
}

bool misses_by_less_than(const FitResult& fit, double ratio) { return fit.usable && fit.rms_residual_v < ratio * (fit.best.high_v - fit.best.low_v); }

LineOutcome outcome_of(const LineInput& input, const LinePriors& priors, const FitResult& fit) {
  if (!fit.usable) return without_fit(input, priors, fit.why_not);
  if (!misses_by_less_than(fit, fit.clamped ? hopeless_clamped_ratio : hopeless_residual_ratio))
    return without_fit(input, priors, "no line of any length explains these edges", false);

  LineOutcome outcome;
  outcome.fit = describe(fit, priors, input.node.at == ProbePosition::near ? LineEnd::near : LineEnd::far);
  const auto belief = belief_from(fit, priors);
  AdviceInput advice{.fit = &fit, .priors = &priors, .belief = &belief, .swept = {}, .series_ohm_now = {}, .present = {}, .receiver = {}, .times = {}};
  if (input.stated != nullptr) advice.series_ohm_now = input.stated->series_ohm;
  advice.series_ohm_now_guess = std::max(0.0, (fit.best.rising_ohm + fit.best.falling_ohm) / 2 - belief.members.front().rising_ohm);
  if (input.used != nullptr)
    advice.receiver = {input.used->vih_v, input.used->vil_v, input.used->supply_v, input.used->windows};
  const double now = advice.series_ohm_now.value_or(advice.series_ohm_now_guess);
  const auto times = source_times(fit, input);
  advice.times = times;
  advice.swept = sweep(belief, candidate_ohms(now), times, advice.receiver);
  if (!advice.series_ohm_now) advice.present = as_it_is(fit, priors, times, advice.receiver);
  if (input.stated != nullptr && input.stated->driver) {
    if (const auto* driver = find_driver(*input.stated->driver)) advice.driver_current_limit_a = driver->current_limit_a;
  }
  advice.fit_is_doubtful = !outcome.fit.doubts.empty();
  outcome.suggestion = advise(std::move(advice));
  return outcome;
}

// Edges that the echoes hid make any fit fail: those found without the echoes, where they give a better one.
LineOutcome outcome_with_echoes_removed(const LineInput& input, const LinePriors& priors, const FitResult& fit) {
  const auto clear = edges_without_echoes(input.node);
  if (!clear) return outcome_of(input, priors, fit);
  LineInput cleared = input;
  cleared.node = aligned_by(input.node, *clear);
  Levels levels = *input.node.levels;
  levels.low_v = Measured::of(clear->lowest_v), levels.high_v = Measured::of(clear->highest_v);
  cleared.node.levels = &levels;
  const auto cleared_fit = fit_of(cleared, priors);
  const bool better = cleared_fit.usable && (!fit.usable || cleared_fit.rms_residual_v < fit.rms_residual_v);
  return better ? outcome_of(cleared, priors, cleared_fit) : outcome_of(input, priors, fit);
}

}  // namespace

LineOutcome analyze_line(const LineInput& given) {
  LineInput input = given;
  const auto edges = driver_edges(given.node);
  input.node = aligned_by(given.node, edges);
  const bool both = given.other_end != nullptr && given.other_end->transitions.size() >= 6;
  LineNode other = both ? *given.other_end : LineNode{};
  const auto other_edges = driver_edges(other);
  other = aligned_by(other, other_edges);
  input.other_end = both ? &other : nullptr;

  const auto priors = priors_from(input.stated, input.used);
  if (const auto why = reason_against(input); !why.empty()) return without_fit(input, priors, why);
  const auto fit = fit_of(input, priors);
  if (misses_by_less_than(fit, doubtful_residual_ratio) || input.node.at != ProbePosition::far) return outcome_of(input, priors, fit);
  return outcome_with_echoes_removed(input, priors, fit);
}

}  // namespace pulsewright::analyzer
