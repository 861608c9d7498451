#include "analyzer/pulse/ringing.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analyzer/pulse/damped_modes.hpp"
#include "analyzer/pulse/edge_response.hpp"
#include "analyzer/pulse/mode_fit.hpp"
#include "analyzer/verdict/phrases.hpp"

namespace pulsewright::analyzer {

namespace {

using std::numbers::pi;

constexpr double least_amplitude_ratio = 0.01;  // of the swing; less does not trouble a receiver
constexpr double most_damping_ratio = 0.8;      // beyond, nothing is seen to swing back
constexpr double probe_from_hz = 80e6;          // ground leads of 100 to 150 nH with 10 to 15 pF ring from 106 MHz up
constexpr double line_up_to_hz = 60e6;          // 1/(4 Td) of less than a metre of cable lies above
constexpr std::size_t wanted_samples = 240;     // in the window of the fit
constexpr double window_periods = 8;
constexpr double least_sigmas_on_a_tail = 2.5;  // the slow tail below a short ring is misfit, not noise, and widens its u

/// The response after the edge, evenly sampled, volts.
struct Tail {
  std::vector<double> v;
  double interval_s = 0, begin_s = 0;
  double noise_v = 0;  ///< of one value
  double end_s() const { return begin_s + interval_s * static_cast<double>(v.size() - 1); }
};

struct Found {
  DampedMode mode;
  double frequency_u_hz = 0, damping_u_per_s = 0, amplitude_u = 0;
  double overshoot_ratio = 0;
  bool harmonics = false;
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
  const double each = std::max(1.0, static_cast<double>(response.transitions) * tail.interval_s / sample_interval_s);
  tail.noise_v = 1.09 * noise_v / std::sqrt(each);
  return tail;
}

double settled_mean(std::span<const double> v) {
  const auto end = v.last(std::max<std::size_t>(1, v.size() / 4));
  double sum = 0;
  for (const double x : end) sum += x;
  return sum / static_cast<double>(end.size());
}

// The mode of the matrix pencil that swings most, near the line of the spectrum when there is one.
std::optional<DampedMode> start_mode(const std::vector<DampedMode>& modes, double line_hz, double lowest_hz) {
  const DampedMode* best = nullptr;
  double best_score = 0;
  for (const auto& m : modes) {
    if (m.frequency_hz < lowest_hz || m.damping_per_s < -0.05 * m.frequency_hz) continue;
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
  double beyond = 0;
  const double sign = tail.v.front() > best.level ? 1 : -1;
  for (const double v : tail.v) beyond = std::max({beyond, sign * (v - best.level), -sign * (v - best.level)});
  return Found{best.modes[0], best.frequency_u_hz[0], best.damping_u_per_s[0], best.amplitude_u[0], beyond, harmonics};
}

// Does the tail go beyond the level that it settles to? A staircase or a slow edge does not.
double overshoot_v(const Tail& tail, double settled_v, bool rising) {
  double beyond = 0;
  for (const double v : tail.v) beyond = std::max(beyond, rising ? v - settled_v : settled_v - v);
  return beyond;
}

struct Search {
  std::optional<Found> found;
  std::string why_not;
  std::vector<double> spectrum_hz, spectrum_v;
};

// Looks for a ring between `from_s` and `until_s` after the edge. It stands when its amplitude exceeds `least_sigmas` standard
// uncertainties.
Search search_window(const EdgeResponse& response, bool rising, double from_s, double until_s, double least_sigmas,
                     const RingingContext& context) {
  Search result;
  const double noise_v = root_sum_square(context.noise_rms_v, context.adc_step_v / std::sqrt(12.0));
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
  const double line_hz = strongest_line_hz(swing, tail.interval_s, 1 / whole_s, &result.spectrum_hz, &result.spectrum_v);
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
  const auto start = start_mode(modes, line_hz, 0.5 / whole_s);
  if (!start) {
    result.why_not = "the edges settle without a ring";
    return result;
  }
  result.found = fit_tail(tail, modes, *start);
  const auto& f = result.found;
  if (!f || f->mode.amplitude < least_sigmas * f->amplitude_u || f->mode.amplitude < least_amplitude_ratio * amplitude_v ||
      f->mode.frequency_hz * whole_s < 0.75 || f->mode.frequency_hz * tail.interval_s > 0.25 || f->frequency_u_hz > 0.2 * f->mode.frequency_hz ||
      f->mode.damping_per_s / std::hypot(f->mode.damping_per_s, 2 * pi * f->mode.frequency_hz) > most_damping_ratio) {
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

// A short ring drowns in a slow tail (skin effect, echoes): it is tall, swings at least three times in the window and is gone
// at its end.
bool rings_out(const Found& found, double window_s, double amplitude_v) {
  return found.mode.amplitude > 0.05 * amplitude_v && found.mode.frequency_hz * window_s > 3 && std::exp(-found.mode.damping_per_s * window_s) < 0.1;
}

Search search(const EdgeResponse& response, bool rising, double duration_s, const RingingContext& context) {
  if (response.empty() || response.t_s.back() <= 0) {
    Search none;
    none.why_not = "no equivalent-time response of the edges";
    return none;
  }
  const double whole_from_s = std::max(duration_s, response.bin_s), whole_s = response.t_s.back() - whole_from_s;
  const Search whole = search_window(response, rising, whole_from_s, response.t_s.back(), 4, context);
  if (whole.found) {
    // A flat-topped start (clamps, a fast edge on a long line) pulls a single sinusoid: the later swings tell more.
    if (whole.found->frequency_u_hz < 0.03 * whole.found->mode.frequency_hz) return whole;
    const double next_s = whole_from_s + 0.5 / whole.found->mode.frequency_hz;
    const Search later = search_window(response, rising, next_s, response.t_s.back(), 4, context);
    return later.found ? later : whole;
  }
  const double from_s = begin_of_ring_s(response, rising, duration_s, *context.levels);
  for (const double part : {0.25, 0.0625}) {
    const double window_s = part * whole_s;
    if (window_s < 16 * context.sample_interval_s) break;
    const Search shorter = search_window(response, rising, from_s, from_s + window_s, least_sigmas_on_a_tail, context);
    if (shorter.found && rings_out(*shorter.found, window_s, *context.levels->amplitude_v)) return shorter;
  }
  return whole;
}

// Mean of both edges weighted by their uncertainty; a difference beyond it widens the result (the driver's two outputs
// need not be alike).
struct Combined {
  double frequency_hz, frequency_u, damping, damping_u;
  bool harmonics;
};

std::pair<double, double> weighted(double a, double ua, double b, double ub) {
  const double wa = 1 / std::max(ua * ua, 1e-300), wb = 1 / std::max(ub * ub, 1e-300);
  const double mean = (wa * a + wb * b) / (wa + wb);
  const double chi2 = (a - b) * (a - b) / (ua * ua + ub * ub);
  return {mean, std::sqrt(std::max(1.0, chi2) / (wa + wb))};
}

std::optional<Combined> combine(const std::optional<Found>& a, const std::optional<Found>& b) {
  if (!a && !b) return {};
  if (!a || !b || std::abs(std::log(a->mode.frequency_hz / b->mode.frequency_hz)) > 0.2) {
    const Found& f = !a ? *b : !b ? *a : (a->mode.amplitude >= b->mode.amplitude ? *a : *b);
    return Combined{f.mode.frequency_hz, f.frequency_u_hz, f.mode.damping_per_s, f.damping_u_per_s, f.harmonics};
  }
  const auto [frequency, frequency_u] = weighted(a->mode.frequency_hz, a->frequency_u_hz, b->mode.frequency_hz, b->frequency_u_hz);
  const auto [damping, damping_u] = weighted(a->mode.damping_per_s, a->damping_u_per_s, b->mode.damping_per_s, b->damping_u_per_s);
  return Combined{frequency, frequency_u, damping, damping_u, a->harmonics || b->harmonics};
}

// Against the stated cable. The input capacitance lowers the ring; velocity and length are known to some 10 %.
void name_source_of_known_line(Ringing& ringing, double frequency_hz, double line_hz) {
  const auto seen = phrases::megahertz(frequency_hz), expected = phrases::megahertz(line_hz);
  const double ratio = frequency_hz / line_hz;
  if (ratio > 0.5 && ratio < 1.3) {
    ringing.source = RingSource::line;
    ringing.source_why = seen + " fits 1/(4 Td) of the stated cable, " + expected + " without the load of the input";
  } else if (frequency_hz >= probe_from_hz && ratio > 3) {
    ringing.source = RingSource::probe;
    ringing.source_why =
        seen + " is far above the " + expected + " of the stated cable and where a long ground lead rings with the probe tip";
  } else {
    ringing.source = RingSource::unknown;
    ringing.source_why = seen + " fits neither the stated cable (" + expected + ") nor a probe's ground lead";
  }
}

void name_source(Ringing& ringing, const Combined& ring, const RingingContext& context) {
  const double f = ring.frequency_hz;
  const auto seen = phrases::megahertz(f);
  if (context.length_m && context.velocity_m_per_s && *context.length_m > 0) {
    name_source_of_known_line(ringing, f, *context.velocity_m_per_s / (4 * *context.length_m));
  } else if (f >= probe_from_hz) {
    ringing.source = RingSource::probe;
    ringing.source_why = seen + " is where a long ground lead rings with the probe tip; a line that rings so is shorter than a metre";
  } else if (ring.harmonics) {
    ringing.source = RingSource::line;
    ringing.source_why = "odd multiples of " + seen + " stand beside it, as on a line open at its end";
  } else if (f <= line_up_to_hz) {
    ringing.source = RingSource::line;
    ringing.source_why = seen + " is too slow for a probe's ground lead; state the cable's length to check it";
  } else {
    ringing.source = RingSource::unknown;
    ringing.source_why = seen + " could be a very short line or the probe's ground lead: state the cable's length";
  }
}

// Td = 1/(4 f) less the delay of the input's capacitance, about Z0 C: 100 ohm with 20 pF +- 8 pF (pixel input at most
// 15 pF by datasheet, 10:1 probe 10 to 15 pF).
Measured line_length(const Combined& ring, const Measured& velocity) {
  if (!velocity) return Measured::none("the cable's velocity is not known");
  constexpr double load_s = 2.0e-9, load_u_s = 0.8e-9;
  const double delay_s = 1 / (4 * ring.frequency_hz) - load_s;
  if (!(delay_s > 0)) return Measured::none("the ring is too fast for a length");
  const double delay_u_s = root_sum_square(ring.frequency_u / (4 * ring.frequency_hz * ring.frequency_hz), load_u_s);
  const double length = *velocity * delay_s;
  return Measured::of(length, length * root_sum_square(delay_u_s / delay_s, velocity.u / *velocity));
}

// Arrivals on a line are steps, not a sinusoid: what that leaves in the frequency grows as the ring dies within a period.
// Relative, from simulated lines with known delay.
double shape_u_ratio(double decay_ratio) { return 0.0008 * (1 + std::pow(0.1 / std::max(decay_ratio, 0.02), 3)); }

void keep_spectrum(Ringing& ringing, const Search& from, double top_hz) {
  for (std::size_t k = 0; k < from.spectrum_hz.size() && from.spectrum_hz[k] <= top_hz; ++k) {
    ringing.spectrum_hz.push_back(from.spectrum_hz[k]);
    ringing.spectrum_v.push_back(from.spectrum_v[k]);
  }
}

Ringing no_ring(const std::string& why) {
  Ringing ringing;
  for (auto* figure : {&ringing.frequency_hz, &ringing.decay_ratio, &ringing.damping_ratio, &ringing.length_m})
    *figure = Measured::none(why);
  ringing.source_why = why;
  return ringing;
}

}  // namespace

Ringing find_ringing(const RingingContext& context) {
  if (!context.levels || !context.levels->amplitude_v || !(context.sample_interval_s > 0)) return no_ring("no two states");
  Search rising, falling;
  if (context.rising) rising = search(*context.rising, true, context.rising_10_90_s, context);
  if (context.falling) falling = search(*context.falling, false, context.falling_10_90_s, context);
  const auto ring = combine(rising.found, falling.found);
  const Search& shown = rising.found || !falling.found ? rising : falling;
  if (!ring) {
    auto ringing = no_ring(rising.why_not.empty() ? "no response of the edges" : rising.why_not);
    keep_spectrum(ringing, shown, 0.5 / context.sample_interval_s);
    return ringing;
  }
  const double f = ring->frequency_hz, omega = 2 * pi * f, alpha = ring->damping;
  Ringing ringing;
  const double clock_u = context.accuracy.timebase_ratio_u;
  const double decay = std::exp(-alpha / f);
  const double shape_u = shape_u_ratio(decay);
  ringing.frequency_hz = Measured::of(f, root_sum_square(ring->frequency_u, clock_u * f, shape_u * f));
  ringing.decay_ratio = Measured::of(decay, decay / f * root_sum_square(ring->damping_u, alpha / f * ring->frequency_u));
  const double natural = std::hypot(alpha, omega);
  ringing.damping_ratio = Measured::of(alpha / natural, omega * omega / (natural * natural * natural) *
                                                            root_sum_square(ring->damping_u, alpha / f * ring->frequency_u));
  name_source(ringing, *ring, context);
  ringing.length_m = ringing.source == RingSource::probe ? Measured::none("the ring is the probe's, not the line's")
                                                         : line_length(*ring, context.velocity_m_per_s);
  keep_spectrum(ringing, shown, std::max(8 * f, 0.5 / context.sample_interval_s));
  if (ringing.source != RingSource::probe)
    for (int n = 1; n <= 6; ++n) ringing.arrivals_s.push_back(n / (2 * f));  // a round trip each
  return ringing;
}

}  // namespace pulsewright::analyzer
