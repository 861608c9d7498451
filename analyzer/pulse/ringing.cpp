#include "analyzer/pulse/ringing.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>
#include <string>
#include <tuple>
#include <vector>

#include "analyzer/pulse/ring_search.hpp"
#include "analyzer/verdict/phrases.hpp"

namespace pulsewright::analyzer {

namespace {

using std::numbers::pi;

constexpr double probe_from_hz = 80e6;          // ground leads of 100 to 150 nH with 10 to 15 pF ring from 106 MHz up
constexpr double line_up_to_hz = 60e6;          // 1/(4 Td) of less than a metre of cable lies above
constexpr double least_line_ratio = 0.05;       // of the swing: a line ring below hardly matters beside that of a probe

struct Combined {
  double frequency_hz, frequency_u, damping, damping_u;
  bool harmonics;
  double amplitude_v, amplitude_u_v;  ///< of the larger of both
};

// Mean of both edges weighted by their uncertainty; a difference beyond it widens the result (the driver's two outputs
// need not be alike). What the model misses is the same in both and does not average out.
std::pair<double, double> weighted(double a, double ua, double b, double ub, bool misfit) {
  const double wa = 1 / std::max(ua * ua, 1e-300), wb = 1 / std::max(ub * ub, 1e-300);
  const double mean = (wa * a + wb * b) / (wa + wb);
  const double chi2 = (a - b) * (a - b) / (ua * ua + ub * ub);
  const double u = misfit ? (wa * ua + wb * ub) / (wa + wb) : 1 / std::sqrt(wa + wb);
  return {mean, u * std::sqrt(std::max(1.0, chi2))};
}

bool is_misfit(const Found& f) { return f.rms_residual > 1.5 * f.noise_v; }

Combined alone(const Found& f) {
  return {f.mode.frequency_hz, f.frequency_u_hz, f.mode.damping_per_s, f.damping_u_per_s, f.harmonics, f.mode.amplitude, f.amplitude_u};
}

std::optional<Combined> combine(const std::optional<Found>& a, const std::optional<Found>& b) {
  if (!a && !b) return {};
  if (!a || !b) return alone(a ? *a : *b);
  const Found& larger = a->mode.amplitude >= b->mode.amplitude ? *a : *b;
  Combined both = alone(larger);
  if (std::abs(std::log(a->mode.frequency_hz / b->mode.frequency_hz)) > 0.2) return both;
  const bool misfit = is_misfit(*a) && is_misfit(*b);
  std::tie(both.frequency_hz, both.frequency_u) = weighted(a->mode.frequency_hz, a->frequency_u_hz, b->mode.frequency_hz, b->frequency_u_hz, misfit);
  std::tie(both.damping, both.damping_u) = weighted(a->mode.damping_per_s, a->damping_u_per_s, b->mode.damping_per_s, b->damping_u_per_s, misfit);
  both.harmonics = a->harmonics || b->harmonics;
  return both;
}

/// What rings after the edges of both kinds.
struct Rings {
  Search rising, falling;
  std::optional<Combined> ring;
  const Search& shown() const { return rising.found || !falling.found ? rising : falling; }
};

Rings search_both(const RingingContext& context) {
  Rings rings;
  if (context.rising) rings.rising = search_ring(*context.rising, true, context.rising_10_90_s, context);
  if (context.falling) rings.falling = search_ring(*context.falling, false, context.falling_10_90_s, context);
  rings.ring = combine(rings.rising.found, rings.falling.found);
  return rings;
}

// The ring of a line, eight times slower or more, without what swings with `period_s` or faster.
Rings search_slower(RingingContext context, double period_s) {
  EdgeResponse rising, falling;
  if (context.rising) rising = without_faster(*context.rising, period_s), context.rising = &rising;
  if (context.falling) falling = without_faster(*context.falling, period_s), context.falling = &falling;
  context.rising_10_90_s = std::max(context.rising_10_90_s, period_s);
  context.falling_10_90_s = std::max(context.falling_10_90_s, period_s);
  Rings rings = search_both(context);
  const bool line = rings.ring && rings.ring->frequency_hz < 1 / (8 * period_s) && rings.ring->amplitude_v > least_line_ratio * *context.levels->amplitude_v;
  if (!line) rings.ring.reset();
  return rings;
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

// Arrivals on a line, told by their harmonics, are steps and no sinusoid: what that leaves in the frequency grows as the ring
// dies within a period, and much faster where averaging over a probe's ring took the harmonics away. Relative, from simulated
// lines with known delay.
double shape_u_ratio(const Combined& ring, double decay_ratio, bool beside_probe) {
  if (beside_probe) return 0.16 * std::exp(-4.5 * decay_ratio);
  return ring.harmonics ? 0.0002 * (1 + 3 * std::pow(0.1 / std::max(decay_ratio, 0.02), 3)) : 0;
}

// Edges are laid over each other by crossings on straight lines between samples: with few samples a period that smears the
// ring. Relative, from 900 simulated rings of known frequency (0.3 % at 3 samples a period).
double alignment_u_ratio(double frequency_hz, double sample_interval_s) {
  const double periods = frequency_hz * sample_interval_s;
  return 0.03 * periods * periods;
}

void keep_spectrum(Ringing& ringing, const Search& from, double top_hz) {
  for (std::size_t k = 0; k < from.spectrum_hz.size() && from.spectrum_hz[k] <= top_hz; ++k) {
    ringing.spectrum_hz.push_back(from.spectrum_hz[k]);
    ringing.spectrum_v.push_back(from.spectrum_v[k]);
  }
}

Ringing no_ring(const std::string& why) {
  Ringing ringing;
  for (auto* figure : {&ringing.frequency_hz, &ringing.decay_ratio, &ringing.damping_ratio, &ringing.length_m, &ringing.probe_frequency_hz,
                       &ringing.probe_amplitude_ratio})
    *figure = Measured::none(why);
  ringing.source_why = why;
  return ringing;
}

// The ring of the probe's ground lead rides on each step of a line that rings at `line_hz` itself.
std::optional<Combined> probe_ring_beside(double line_hz, const RingingContext& context) {
  const double lowest_hz = std::max(probe_from_hz, 8 * line_hz);
  std::optional<Found> rising, falling;
  if (context.rising) rising = ring_before_echo(*context.rising, true, line_hz, lowest_hz, context);
  if (context.falling) falling = ring_before_echo(*context.falling, false, line_hz, lowest_hz, context);
  return combine(rising, falling);
}

/// The ring that stands, and that of a probe beside it.
struct Told {
  Rings main;
  std::optional<Combined> probe;
};

// The larger of a line's ring and a probe's hides the other: once one is known, the line's is looked for without the probe's.
Told tell_apart(const RingingContext& context) {
  Told told{.main = search_both(context), .probe = {}};
  const auto ring = told.main.ring;
  if (ring && ring->frequency_hz < probe_from_hz) {
    told.probe = probe_ring_beside(ring->frequency_hz, context);
    if (!told.probe) return told;
  } else if (ring) {
    told.probe = ring;
  }
  Rings line = search_slower(context, 1 / (told.probe ? told.probe->frequency_hz : probe_from_hz));
  if (!line.ring) {
    if (ring && ring->frequency_hz >= probe_from_hz) told.probe.reset();
    return told;
  }
  told.main = std::move(line);
  if (!ring) told.probe = probe_ring_beside(told.main.ring->frequency_hz, context);
  return told;
}

void set_probe(Ringing& ringing, const std::optional<Combined>& probe, const RingingContext& context) {
  ringing.probe_frequency_hz = ringing.probe_amplitude_ratio = Measured::none(
      ringing.source == RingSource::probe ? "the ring found is the probe's" : "no faster ring dies out between the steps of the line");
  if (ringing.source == RingSource::probe || !probe) return;
  const double f = probe->frequency_hz, amplitude_v = *context.levels->amplitude_v;
  ringing.probe_frequency_hz = Measured::of(f, root_sum_square(probe->frequency_u, context.accuracy.timebase_ratio_u * f));
  ringing.probe_amplitude_ratio = Measured::of(probe->amplitude_v / amplitude_v, probe->amplitude_u_v / amplitude_v);
  ringing.source_why += "; beside it " + phrases::megahertz(f) + " dies out before the line's first echo: a ring of the probe";
}

}  // namespace

Ringing find_ringing(const RingingContext& context) {
  if (!context.levels || !context.levels->amplitude_v || !(context.sample_interval_s > 0)) return no_ring("no two states");
  const auto [main, probe] = tell_apart(context);
  const auto& ring = main.ring;
  if (!ring) {
    auto ringing = no_ring(main.rising.why_not.empty() ? "no response of the edges" : main.rising.why_not);
    keep_spectrum(ringing, main.shown(), 0.5 / context.sample_interval_s);
    return ringing;
  }
  const double f = ring->frequency_hz, omega = 2 * pi * f, alpha = ring->damping;
  Ringing ringing;
  const double clock_u = context.accuracy.timebase_ratio_u;
  const double decay = std::exp(-alpha / f);
  const double shape_u = shape_u_ratio(*ring, decay, probe.has_value());
  ringing.frequency_hz = Measured::of(f, root_sum_square(ring->frequency_u, clock_u * f, shape_u * f, alignment_u_ratio(f, context.sample_interval_s) * f));
  ringing.decay_ratio = Measured::of(decay, decay / f * root_sum_square(ring->damping_u, alpha / f * ring->frequency_u));
  const double natural = std::hypot(alpha, omega);
  ringing.damping_ratio = Measured::of(alpha / natural, omega * omega / (natural * natural * natural) *
                                                            root_sum_square(ring->damping_u, alpha / f * ring->frequency_u));
  name_source(ringing, *ring, context);
  set_probe(ringing, probe, context);
  ringing.length_m = ringing.source == RingSource::probe ? Measured::none("the ring is the probe's, not the line's")
                                                         : line_length(*ring, context.velocity_m_per_s);
  keep_spectrum(ringing, main.shown(), std::max(8 * f, 0.5 / context.sample_interval_s));
  if (ringing.source != RingSource::probe)
    for (int n = 1; n <= 6; ++n) ringing.arrivals_s.push_back(n / (2 * f));  // a round trip each
  return ringing;
}

}  // namespace pulsewright::analyzer
