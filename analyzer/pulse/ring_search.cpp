#include "analyzer/pulse/ring_search.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "analyzer/pulse/mode_fit.hpp"

namespace pulsewright::analyzer {

namespace {

using std::numbers::pi;

constexpr double least_amplitude_ratio = 0.01;  // of the swing; less does not trouble a receiver
constexpr double most_damping_ratio = 0.8;      // beyond, nothing is seen to swing back
constexpr std::size_t wanted_samples = 240;     // in the window of the fit
constexpr double window_periods = 8;
constexpr double least_samples_a_period = 2.5;  // of one edge; faster is a pattern of the sample clock, which comes back with every sample
constexpr double least_sigmas_on_a_tail = 2.5;  // the slow tail below a short ring is misfit, not noise, and widens its u

/// The response after the edge, evenly sampled, volts.
struct Tail {
  std::vector<double> v;
  double interval_s = 0, begin_s = 0;
  double noise_v = 0;  ///< of one value
  double end_s() const { return begin_s + interval_s * static_cast<double>(v.size() - 1); }
};

// The response from `from_s` to `to_s`, bins averaged to about `wanted` values.
Tail tail_of(const EdgeResponse& response, double from_s, double to_s, std::size_t wanted, double noise_v, double sample_interval_s) {
  Tail tail;
  const auto first = std::lower_bound(response.t_s.begin(), response.t_s.end(), from_s) - response.t_s.begin();
  const auto last = std::upper_bound(response.t_s.begin(), response.t_s.end(), to_s) - response.t_s.begin();
  if (last - first < 8) return tail;
  const auto together = std::max<std::ptrdiff_t>(1, (last - first) / static_cast<std::ptrdiff_t>(wanted));
  for (auto i = first; i + together <= last; i += together) {
    double sum = 0;
    for (auto k = i; k < i + together; ++k) sum += response.v[static_cast<std::size_t>(k)];
    tail.v.push_back(sum / static_cast<double>(together));
  }
  tail.interval_s = response.bin_s * static_cast<double>(together);
  tail.begin_s = response.t_s[static_cast<std::size_t>(first)] + 0.5 * (tail.interval_s - response.bin_s);
  // Where edges of several levels lie over each other, the spread within the bins is larger than the noise of the record.
  std::vector<double> spread(response.sd_v.begin() + first, response.sd_v.begin() + last);
  std::nth_element(spread.begin(), spread.begin() + (last - first) / 2, spread.end());
  noise_v = std::max(noise_v, 0.8 * spread[static_cast<std::size_t>(last - first) / 2]);
  const double each = std::max(1.0, static_cast<double>(response.transitions) * tail.interval_s / sample_interval_s);
  tail.noise_v = 1.09 * noise_v / std::sqrt(each);
  return tail;
}

double fastest_hz(const RingingContext& context) { return 1 / (least_samples_a_period * context.sample_interval_s); }

double noise_of(const RingingContext& context) { return root_sum_square(context.noise_rms_v, context.adc_step_v / std::sqrt(12.0)); }

double settled_mean(std::span<const double> v) {
  const auto end = v.last(std::max<std::size_t>(1, v.size() / 4));
  double sum = 0;
  for (const double x : end) sum += x;
  return sum / static_cast<double>(end.size());
}

// The mode of the matrix pencil that swings most, near the line of the spectrum when there is one.
std::optional<DampedMode> start_mode(const std::vector<DampedMode>& modes, double line_hz, double lowest_hz, double highest_hz) {
  const DampedMode* best = nullptr;
  double best_score = 0;
  for (const auto& m : modes) {
    if (m.frequency_hz < lowest_hz || m.frequency_hz > highest_hz || m.damping_per_s < -0.05 * m.frequency_hz) continue;
    const double zeta = m.damping_per_s / std::hypot(m.damping_per_s, 2 * pi * m.frequency_hz);
    if (zeta > most_damping_ratio) continue;
    const double away = line_hz > 0 ? std::abs(std::log(m.frequency_hz / line_hz)) : 0;
    const double score = m.amplitude / (1 + 2 * away);
    if (score > best_score) best_score = score, best = &m;
  }
  return best ? std::optional(*best) : std::nullopt;
}

// The mode nearest to `order` times the fundamental, if the pencil saw one within an eighth.
std::optional<DampedMode> harmonic_near(const std::vector<DampedMode>& modes, double fundamental_hz, double order) {
  const DampedMode* best = nullptr;
  for (const auto& m : modes) {
    const double away = std::abs(m.frequency_hz / (order * fundamental_hz) - 1);
    if (away < 0.125 && m.damping_per_s > 0 && (!best || m.amplitude > best->amplitude)) best = &m;
  }
  return best ? std::optional(*best) : std::nullopt;
}

bool stands(const ModeFit& fit, std::size_t mode) { return fit.modes[mode].amplitude > 4 * fit.amplitude_u[mode]; }

// A ring on a level that creeps to its end slower than it swings (skin effect of the line): taken for the ring's own, the
// creep makes it die later than it does.
ModeFit with_creep(const Tail& tail, ModeFit alone) {
  const double slowest = 1 / (tail.end_s() - tail.begin_s), fastest = 0.5 * alone.modes[0].frequency_hz;
  std::vector<DampedMode> start = alone.modes;
  start.push_back({.frequency_hz = 0, .damping_per_s = 3 * slowest, .amplitude = 0, .phase_rad = 0});
  auto fit = fit_modes(tail.v, tail.interval_s, std::move(start), tail.noise_v);
  if (fit.modes.size() < 2 || !stands(fit, 1) || !(fit.rms_residual < 0.97 * alone.rms_residual)) return alone;
  const double creep = fit.modes[1].damping_per_s;
  return creep > 0.5 * slowest && creep < fastest ? fit : alone;
}

// Fundamental alone, then with the odd harmonics that the pencil saw; those are kept when they are significant.
std::optional<Found> fit_tail(const Tail& tail, const std::vector<DampedMode>& modes, const DampedMode& fundamental) {
  std::vector<DampedMode> start{fundamental};
  auto best = fit_modes(tail.v, tail.interval_s, start, tail.noise_v);
  bool harmonics = false;
  for (const double order : {3.0, 5.0}) {
    const auto next = harmonic_near(modes, fundamental.frequency_hz, order);
    if (!next) break;
    auto wider = start;
    wider.push_back(*next);
    const auto fit = fit_modes(tail.v, tail.interval_s, wider, tail.noise_v);
    if (fit.modes.empty() || !stands(fit, wider.size() - 1) || !(fit.rms_residual < 0.97 * best.rms_residual)) break;
    const double ratio = fit.modes.back().frequency_hz / fit.modes.front().frequency_hz / order;
    if (std::abs(ratio - 1) > 0.15) break;
    start = wider;
    best = fit;
    harmonics = true;
  }
  if (best.modes.empty()) return {};
  if (!harmonics) best = with_creep(tail, std::move(best));
  return Found{best.modes[0], best.frequency_u_hz[0], best.damping_u_per_s[0], best.amplitude_u[0], harmonics, best.rms_residual, tail.noise_v, tail.interval_s};
}

// Does the tail go beyond the level that it settles to? A staircase or a slow edge does not.
double overshoot_v(const Tail& tail, double settled_v, bool rising) {
  double beyond = 0;
  for (const double v : tail.v) beyond = std::max(beyond, rising ? v - settled_v : settled_v - v);
  return beyond;
}

// Of a mode that is known already, between `from_s` and `until_s`.
std::optional<Found> fit_again(const EdgeResponse& response, double from_s, double until_s, const DampedMode& start, const RingingContext& context) {
  const double to_s = std::min(until_s, from_s + window_periods / start.frequency_hz);
  const Tail tail = tail_of(response, from_s, to_s, wanted_samples, noise_of(context), context.sample_interval_s);
  return tail.v.size() < 16 ? std::nullopt : fit_tail(tail, {}, start);
}

bool is_a_ring(const Found& f, double window_s, double least_sigmas, const RingingContext& context) {
  const auto& [frequency_hz, damping_per_s, mode_v, phase] = f.mode;
  return mode_v > least_sigmas * f.amplitude_u && mode_v > least_amplitude_ratio * *context.levels->amplitude_v && frequency_hz * window_s > 0.75 &&
         frequency_hz * f.interval_s < 0.25 && frequency_hz < fastest_hz(context) && f.frequency_u_hz < 0.2 * frequency_hz &&
         damping_per_s / std::hypot(damping_per_s, 2 * pi * frequency_hz) < most_damping_ratio;
}

// Looks for a ring between `from_s` and `until_s` after the edge. It stands when its amplitude exceeds `least_sigmas` standard
// uncertainties.
Search search_window(const EdgeResponse& response, bool rising, double from_s, double until_s, double least_sigmas,
                     const RingingContext& context) {
  Search result;
  const double noise_v = noise_of(context);
  const double amplitude_v = *context.levels->amplitude_v;
  const double whole_s = until_s - from_s;
  auto tail = tail_of(response, from_s, until_s, 4096, noise_v, context.sample_interval_s);
  if (tail.v.size() < 16) {
    result.why_not = "too few samples between the edges to see a ring";
    return result;
  }
  const double settled_v = settled_mean(tail.v);
  if (overshoot_v(tail, settled_v, rising) < std::max(2 * least_amplitude_ratio * amplitude_v, 4 * tail.noise_v)) {
    result.why_not = "the edges settle without swinging past their level";
    return result;
  }
  auto swing = tail.v;
  for (double& v : swing) v -= settled_v;
  const double line_hz = strongest_line_hz(swing, tail.interval_s, 1 / whole_s, fastest_hz(context), &result.spectrum_hz, &result.spectrum_v);
  const double to_s = line_hz > 0 ? std::min(until_s, from_s + window_periods / line_hz) : until_s;
  tail = tail_of(response, from_s, to_s, wanted_samples, noise_v, context.sample_interval_s);
  if (tail.v.size() < 16) {
    result.why_not = "too few samples between the edges to see a ring";
    return result;
  }
  swing = tail.v;
  for (double& v : swing) v -= settled_v;
  double largest = 0;
  for (const double v : swing) largest = std::max(largest, std::abs(v));
  const double tolerance = std::clamp(4 * tail.noise_v / largest / std::sqrt(static_cast<double>(swing.size()) / 4), 2e-3, 0.2);
  const auto modes = matrix_pencil(swing, tail.interval_s, 14, tolerance);
  const auto start = start_mode(modes, line_hz, 0.5 / whole_s, fastest_hz(context));
  if (!start) {
    result.why_not = "the edges settle without a ring";
    return result;
  }
  result.found = fit_tail(tail, modes, *start);
  const bool too_long = result.found && !result.found->harmonics && 2 * window_periods < result.found->mode.frequency_hz * (to_s - from_s);
  if (too_long) result.found = fit_again(response, from_s, until_s, result.found->mode, context);  // the strongest line was not the ring's
  if (!result.found || !is_a_ring(*result.found, whole_s, least_sigmas, context)) {
    result.found.reset();
    result.why_not = "no ring stands out of the noise";
  }
  return result;
}

// Where the ring begins: the edge has come to 90 % of the way. A duration that the samples do not resolve is no guide.
double begin_of_ring_s(const EdgeResponse& response, bool rising, double duration_s, const Levels& levels) {
  if (duration_s > 0) return std::max(duration_s, response.bin_s);
  const double level_v = (rising ? *levels.low_v : *levels.high_v) + (rising ? 0.9 : -0.9) * *levels.amplitude_v;
  for (std::size_t i = 0; i < response.t_s.size(); ++i)
    if (response.t_s[i] > 0 && (rising ? response.v[i] >= level_v : response.v[i] <= level_v)) return response.t_s[i];
  return response.bin_s;
}

// The level between `from_s` and `until_s`.
double mean_between(const EdgeResponse& response, double from_s, double until_s) {
  double sum = 0, count = 0;
  for (std::size_t i = 0; i < response.t_s.size(); ++i)
    if (response.t_s[i] > from_s && response.t_s[i] < until_s) sum += response.v[i], count += 1;
  return count > 0 ? sum / count : response.v.back();
}

// Where the first step has come to its own level, on which the line rests until the echo.
double end_of_first_step_s(const EdgeResponse& response, bool rising, double round_trip_s, const Levels& levels) {
  const double old_v = rising ? *levels.low_v : *levels.high_v;
  const double level_v = mean_between(response, 0.4 * round_trip_s, 0.8 * round_trip_s);
  for (std::size_t i = 0; i < response.t_s.size(); ++i)
    if (response.t_s[i] > 0 && (response.v[i] - old_v) / (level_v - old_v) > 0.95) return response.t_s[i];
  return response.t_s.back();
}

// Mean over 2 half + 1 values, fewer at the ends.
std::vector<double> averaged(const std::vector<double>& v, std::size_t half) {
  std::vector<double> sums(v.size() + 1, 0), out(v.size());
  for (std::size_t i = 0; i < v.size(); ++i) sums[i + 1] = sums[i] + v[i];
  for (std::size_t i = 0; i < v.size(); ++i) {
    const std::size_t reach = std::min({half, i, v.size() - 1 - i});
    out[i] = (sums[i + reach + 1] - sums[i - reach]) / static_cast<double>(2 * reach + 1);
  }
  return out;
}

// A short ring drowns in a slow tail (skin effect, echoes): it is tall, swings at least three times in the window and is gone
// at its end but for `rest` of it.
bool rings_out(const Found& found, double window_s, double amplitude_v, double rest) {
  return found.mode.amplitude > 0.05 * amplitude_v && found.mode.frequency_hz * window_s > 3 && std::exp(-found.mode.damping_per_s * window_s) < rest;
}

// Is what begins after `duration_s` the ring alone? An edge that the samples do not resolve (0) may go on; harmonics tell a line,
// whose ring begins with its first step.
bool edge_is_over(double duration_s, const Found& ring) { return ring.harmonics || (duration_s > 0 && duration_s * ring.mode.frequency_hz < 0.3); }

// The same ring from `next_s` on, if that fits better.
Search without_the_edge(Search search, const EdgeResponse& response, double next_s, const RingingContext& context) {
  const auto later = fit_again(response, next_s, response.t_s.back(), search.found->mode, context);
  const bool better = later && is_a_ring(*later, response.t_s.back() - next_s, least_sigmas_on_a_tail, context) &&
                      later->rms_residual < 0.9 * search.found->rms_residual;
  if (better) search.found = later;
  return search;
}

}  // namespace

Search search_ring(const EdgeResponse& response, bool rising, double duration_s, const RingingContext& context) {
  if (response.empty() || response.t_s.back() <= 0) {
    Search none;
    none.why_not = "no equivalent-time response of the edges";
    return none;
  }
  const double whole_from_s = std::max(duration_s, response.bin_s), whole_s = response.t_s.back() - whole_from_s;
  const double from_s = begin_of_ring_s(response, rising, duration_s, *context.levels);
  const Search whole = search_window(response, rising, whole_from_s, response.t_s.back(), 4, context);
  if (whole.found) {
    const double f = whole.found->mode.frequency_hz;
    // A flat-topped start (clamps, a fast edge on a long line) pulls a single sinusoid: the later swings tell more.
    if (whole.found->frequency_u_hz > 0.03 * f) {
      const Search later = search_window(response, rising, whole_from_s + 0.5 / f, response.t_s.back(), 4, context);
      return later.found ? later : whole;
    }
    return edge_is_over(duration_s, *whole.found) ? whole : without_the_edge(whole, response, from_s + 0.5 / f, context);
  }
  for (const double part : {0.25, 0.0625}) {
    const double window_s = part * whole_s;
    if (window_s < 16 * context.sample_interval_s) break;
    const Search shorter = search_window(response, rising, from_s, from_s + window_s, least_sigmas_on_a_tail, context);
    if (shorter.found && rings_out(*shorter.found, window_s, *context.levels->amplitude_v, 0.1))
      return without_the_edge(shorter, response, from_s + 0.5 / shorter.found->mode.frequency_hz, context);
  }
  return whole;
}

std::optional<Found> ring_before_echo(const EdgeResponse& response, bool rising, double line_hz, double lowest_hz,
                                      const RingingContext& context) {
  if (response.empty()) return {};
  const double round_trip_s = std::min(0.5 / line_hz, response.t_s.back());
  const double from_s = end_of_first_step_s(response, rising, round_trip_s, *context.levels);
  const double until_s = 0.9 * round_trip_s - from_s;  // the echo's step is as long as the first one; `line_hz` is good to some percent
  if (until_s - from_s < 3 / lowest_hz) return {};
  auto ring = search_window(response, rising, from_s, until_s, least_sigmas_on_a_tail, context).found;
  if (!ring || ring->mode.frequency_hz < lowest_hz || !rings_out(*ring, until_s - from_s, *context.levels->amplitude_v, 0.2)) return {};
  return ring;
}

EdgeResponse without_faster(const EdgeResponse& response, double period_s) {
  EdgeResponse calm = response;
  if (response.empty()) return calm;
  const auto half = static_cast<std::size_t>(std::lround(0.5 * period_s / response.bin_s));
  calm.v = averaged(averaged(response.v, half), half);
  return calm;
}

}  // namespace pulsewright::analyzer
