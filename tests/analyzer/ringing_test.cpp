#include "analyzer/pulse/ringing.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <random>

#include "analyzer/pulse/aberration.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
namespace tt = boost::test_tools;

namespace {

analyzer::Ringing ring_of(const waveforms::StepResponse& step, double noise_v = 0.02, double interval_s = 5e-9,
                          std::optional<double> length_m = {}, analyzer::Measured velocity = analyzer::Measured::none("not stated")) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(240, 4)}, step);
  const auto record = waveforms::sample(signal, {.sample_interval_s = interval_s, .start_s = 0.3e-9, .noise_rms_v = noise_v, .range_low_v = -8, .range_high_v = 14});
  const auto view = record.view();
  const auto states = analyzer::measure_states(view);
  const auto transitions = analyzer::find_transitions(view, states.levels, 1.5, 3.5, *states.noise_rms_v, *states.adc_step_v);
  const analyzer::TransitionContext context{.samples = view, .states = &states, .accuracy = {}, .vil_v = 1.5, .vih_v = 3.5, .bandwidth_hz = {}};
  const auto rising = analyzer::summarize_transitions(context, transitions, states.levels, true);
  const auto falling = analyzer::summarize_transitions(context, transitions, states.levels, false);
  return analyzer::find_ringing({.rising = &rising.response, .falling = &falling.response, .levels = &states.levels,
                                 .noise_rms_v = *states.noise_rms_v, .adc_step_v = *states.adc_step_v, .sample_interval_s = interval_s,
                                 .rising_10_90_s = rising.duration_10_90_s.value.value_or(0), .falling_10_90_s = falling.duration_10_90_s.value.value_or(0),
                                 .accuracy = {}, .length_m = length_m, .velocity_m_per_s = std::move(velocity)});
}

}  // namespace

BOOST_AUTO_TEST_SUITE(ringing)

// Open lossless line: f = 1/(4 Td), amplitude ratio over one period gamma^2 (closed form: poles of 1 - gamma exp(-2 s Td)).
BOOST_AUTO_TEST_CASE(open_line_rings_at_a_quarter_of_the_delay) {
  for (const double ratio : {0.1, 0.25, 0.5}) BOOST_TEST_CONTEXT("R/Z0 " << ratio) {
      const double td_s = 46.21e-9, gamma = (ratio - 1) / (ratio + 1);
      const auto ringing = ring_of(waveforms::lattice({.source_ratio = ratio, .td_s = td_s, .edge_s = 6e-9, .gaussian_s = 4e-9}));
      BOOST_TEST_REQUIRE(ringing.frequency_hz.value.has_value(), ringing.frequency_hz.missing);
      BOOST_TEST_MESSAGE(*ringing.frequency_hz * 4 * td_s << " u " << ringing.frequency_hz.u * 4 * td_s << " decay " << *ringing.decay_ratio << " u " << ringing.decay_ratio.u << " truth " << gamma * gamma << " " << ringing.source_why);
      BOOST_TEST(*ringing.frequency_hz == 1 / (4 * td_s), tt::tolerance(0.005));
      BOOST_TEST(std::abs(*ringing.decay_ratio - gamma * gamma) < 0.02);
      BOOST_TEST((ringing.source == analyzer::RingSource::line));
      BOOST_TEST(ringing.arrivals_s.at(0) == 2 * td_s, tt::tolerance(0.005));
    }
}

// Damped frequency and damping ratio of the second-order step (mathematics).
BOOST_AUTO_TEST_CASE(second_order_ring) {
  for (const double zeta : {0.1, 0.2, 0.4}) BOOST_TEST_CONTEXT("zeta " << zeta) {
      const double omega = 2 * std::numbers::pi * 8e6;
      const auto ringing = ring_of(waveforms::second_order(omega, zeta));
      BOOST_TEST_REQUIRE(ringing.damping_ratio.value.has_value(), ringing.frequency_hz.missing);
      BOOST_TEST_MESSAGE(*ringing.frequency_hz << " u " << ringing.frequency_hz.u << " zeta " << *ringing.damping_ratio << " u " << ringing.damping_ratio.u);
      BOOST_TEST(*ringing.damping_ratio == zeta, tt::tolerance(0.03));
      BOOST_TEST(*ringing.frequency_hz == 8e6 * std::sqrt(1 - zeta * zeta), tt::tolerance(0.01));
    }
}

BOOST_AUTO_TEST_CASE(length_from_the_ring) {
  // 30 ft at a velocity factor of 0.66 (solid polyethylene: common practice, no source): Td = 9.144 m / v = 46.21 ns; the closed form has no load, which the estimate allows for with 2 ns +- 0.8 ns.
  const double velocity = 0.66 * 299792458.0;
  const auto ringing = ring_of(waveforms::lattice({.source_ratio = 0.25, .td_s = 46.21e-9, .edge_s = 6e-9, .gaussian_s = 4e-9}), 0.02, 5e-9, {}, analyzer::Measured::of(velocity, 0.03 * velocity));
  BOOST_TEST_REQUIRE(ringing.length_m.value.has_value());
  BOOST_TEST(*ringing.length_m == 9.144 - 2e-9 * velocity, tt::tolerance(0.01));
  BOOST_TEST(std::abs(*ringing.length_m - 9.144) < 2 * ringing.length_m.u);
}

BOOST_AUTO_TEST_CASE(a_ground_lead_is_named_as_the_probes) {
  // 150 nH with 10 pF: 1 / (2 pi sqrt(L C)) = 129.9 MHz (closed form; a ground lead of 15 cm and a 10x probe: common practice, no source).
  const double omega = 2 * std::numbers::pi * 129.9e6;
  const auto ringing = ring_of(waveforms::second_order(omega, 0.12), 0.02, 1e-9, 12.0, analyzer::Measured::of(2e8, 6e6));
  BOOST_TEST_REQUIRE(ringing.frequency_hz.value.has_value(), ringing.frequency_hz.missing);
  BOOST_TEST(*ringing.frequency_hz == 129.9e6 * std::sqrt(1 - 0.12 * 0.12), tt::tolerance(0.02));
  BOOST_TEST((ringing.source == analyzer::RingSource::probe));
  BOOST_TEST(!ringing.length_m.value.has_value());
}

// A line of 1/(4 Td), and on each of its steps the ring of a ground lead.
BOOST_AUTO_TEST_CASE(the_rings_of_probe_and_line_are_told_apart) {
  for (const double ratio : {0.35, 0.5})
    for (const double td_s : {30e-9, 60e-9})
      for (const double probe_hz : {100e6, 150e6}) BOOST_TEST_CONTEXT("R/Z0 " << ratio << ", Td " << td_s << ", probe " << probe_hz) {
          const double zeta = 0.15, root = std::sqrt(1 - zeta * zeta);
          const auto probe = waveforms::second_order(2 * std::numbers::pi * probe_hz / root, zeta);
          const auto ringing = ring_of(waveforms::seen_through(probe, ratio, td_s), 0.02, 1e-9);
          BOOST_TEST_REQUIRE(ringing.frequency_hz.value.has_value(), ringing.frequency_hz.missing);
          BOOST_TEST((ringing.source == analyzer::RingSource::line), ringing.source_why);
          BOOST_TEST(std::abs(*ringing.frequency_hz - 1 / (4 * td_s)) < 2 * ringing.frequency_hz.u, *ringing.frequency_hz * 4 * td_s);
          BOOST_TEST(ringing.frequency_hz.u * 4 * td_s < 0.11);
          BOOST_TEST_REQUIRE(ringing.probe_frequency_hz.value.has_value(), ringing.probe_frequency_hz.missing);
          BOOST_TEST(*ringing.probe_frequency_hz == probe_hz, tt::tolerance(0.02));
        }
}

BOOST_AUTO_TEST_CASE(no_probe_is_named_beside_a_line_alone) {
  for (const double ratio : {0.2, 0.5})
    for (const double td_s : {20e-9, 60e-9}) {
      const auto ringing = ring_of(waveforms::lattice({.source_ratio = ratio, .td_s = td_s, .edge_s = 3e-9, .gaussian_s = 1.5e-9}), 0.02, 1e-9);
      BOOST_TEST((ringing.source == analyzer::RingSource::line), ringing.source_why);
      BOOST_TEST(!ringing.probe_frequency_hz.value.has_value());
      BOOST_TEST(!ringing.probe_frequency_hz.missing.empty());
    }
}

BOOST_AUTO_TEST_CASE(a_short_ring_is_found_on_the_slow_tail_of_a_lossy_line) {
  // 300 nH with 8 pF: 1 / (2 pi sqrt(L C)) = 102.7 MHz (closed form), on a step whose last 8 % creep in with 120 ns as skin effect does.
  const auto fast = waveforms::second_order(2 * std::numbers::pi * 102.7e6, 0.09);
  auto step = fast;
  step.at = [fast](double t) { return t <= 0 ? 0.0 : 0.92 * fast.at(t) - 0.08 * std::expm1(-t / 120e-9); };
  step.settled_s = 4e-6;
  const auto ringing = ring_of(step, 0.02, 2e-9, 18.0, analyzer::Measured::of(1.8e8, 9e6));
  BOOST_TEST_REQUIRE(ringing.frequency_hz.value.has_value(), ringing.frequency_hz.missing);
  BOOST_TEST(*ringing.frequency_hz == 102.7e6, tt::tolerance(0.02));
  BOOST_TEST((ringing.source == analyzer::RingSource::probe));
}

namespace {

// Damped resonance driven by a ramp of `edge_s`, on a level whose last part `creep` comes with `creep_s` (exact): with s the
// step response, s'' + 2 a s' + w^2 s = w^2, so its integral is t - (s' + 2 a s) / w^2.
waveforms::StepResponse driven_resonance(double frequency_hz, double zeta, double edge_s, double creep, double creep_s) {
  const double damped = 2 * std::numbers::pi * frequency_hz, natural = damped / std::sqrt(1 - zeta * zeta), a = zeta * natural;
  const auto step = waveforms::second_order(natural, zeta);
  const auto integral = [=](double t) {
    if (t <= 0) return 0.0;
    const double slope = natural * natural / damped * std::exp(-a * t) * std::sin(damped * t);
    return t - (slope + 2 * a * step.at(t)) / (natural * natural);
  };
  return {[=](double t) {
            if (t <= 0) return 0.0;
            return (1 - creep) * (integral(t) - integral(t - edge_s)) / edge_s - creep * std::expm1(-t / creep_s);
          },
          0, std::max(step.settled_s, 30 * creep_s)};
}

}  // namespace

// Once the ramp is over, what is left swings at the damped frequency of the resonance (linear circuit theory).
BOOST_AUTO_TEST_CASE(frequency_and_decay_of_a_probes_ring_hold_over_edges_rates_and_creeping_levels) {
  std::mt19937 generator(2604);
  const auto between = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  constexpr int rings = 60;
  int frequency_held = 0, decay_held = 0;
  for (int i = 0; i < rings; ++i) {
    const double f = between(90e6, 160e6), zeta = between(0.06, 0.2), edge_s = between(0.5e-9, 5e-9), creep = between(0, 0.08);
    const double decay = std::exp(-2 * std::numbers::pi * zeta / std::sqrt(1 - zeta * zeta));
    const auto step = driven_resonance(f, zeta, edge_s, creep, between(40e-9, 150e-9));
    const auto ringing = ring_of(step, between(0.01, 0.04), between(0.5e-9, 2.2e-9), 18.0, analyzer::Measured::of(1.8e8, 9e6));
    BOOST_TEST_CONTEXT("f " << f << " zeta " << zeta << " edge " << edge_s << " creep " << creep) {
      BOOST_TEST_REQUIRE(ringing.frequency_hz.value.has_value(), ringing.frequency_hz.missing);
      BOOST_TEST((ringing.source == analyzer::RingSource::probe), ringing.source_why);
      BOOST_TEST(ringing.frequency_hz.u < 0.015 * f);
      BOOST_TEST(*ringing.frequency_hz == f, tt::tolerance(0.03));
      frequency_held += std::abs(*ringing.frequency_hz - f) < 2 * ringing.frequency_hz.u;
      decay_held += std::abs(*ringing.decay_ratio - decay) < 2 * ringing.decay_ratio.u;
    }
  }
  BOOST_TEST_MESSAGE("within 2 u: frequency " << frequency_held << ", decay " << decay_held << " of " << rings);
  BOOST_TEST(frequency_held >= rings * 9 / 10);
  BOOST_TEST(decay_held >= rings * 17 / 20);
}

BOOST_AUTO_TEST_CASE(nothing_rings_on_slow_or_matched_edges) {
  for (const auto& step : {waveforms::single_pole(60e-9), waveforms::gaussian(10e-9), waveforms::ramp(30e-9),
                           waveforms::lattice({.source_ratio = 1, .edge_s = 6e-9, .gaussian_s = 4e-9}),
                           waveforms::lattice({.source_ratio = 3.3, .edge_s = 6e-9, .gaussian_s = 4e-9})}) {
    const auto ringing = ring_of(step, 0.05);
    BOOST_TEST(!ringing.frequency_hz.value.has_value());
    BOOST_TEST(!ringing.frequency_hz.missing.empty());
    BOOST_TEST(!ringing.damping_ratio.missing.empty());
  }
}

BOOST_AUTO_TEST_CASE(no_levels_no_ring) { BOOST_TEST(!analyzer::find_ringing({}).frequency_hz.missing.empty()); }

BOOST_AUTO_TEST_SUITE_END()
