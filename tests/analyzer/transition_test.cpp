#include "analyzer/pulse/transition.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <vector>

#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/pulse.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
namespace tt = boost::test_tools;

namespace {

analyzer::Levels known_levels(double low_v, double high_v) {
  analyzer::Levels levels;
  levels.low_v = analyzer::Measured::of(low_v);
  levels.high_v = analyzer::Measured::of(high_v);
  levels.amplitude_v = analyzer::Measured::of(high_v - low_v);
  return levels;
}

const analyzer::Levels five_volts = known_levels(0, 5);

// One pulse of 2 us through a step response, finely sampled, no noise, no converter.
std::vector<analyzer::Transition> of_one_pulse(const waveforms::StepResponse& step, double interval_s) {
  waveforms::Signal signal{.step = step, .edges_s = {1e-6, 3e-6}, .end_s = 5e-6};
  const auto record = waveforms::sample(signal, {.sample_interval_s = interval_s, .start_s = 0.37 * interval_s, .adc_bits = 0});
  return analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5);
}

double p10_90(const analyzer::Transition& t) {
  return std::abs(static_cast<double>(t.p90_offset_s) - static_cast<double>(t.p10_offset_s));
}

}  // namespace

BOOST_AUTO_TEST_SUITE(transition)

// Durations and 50 % instants of closed-form steps (mathematics) between the 10, 50 and 90 % reference levels of IEEE Std 181 (from
// memory). Second order: roots of the step response, found numerically.
BOOST_AUTO_TEST_CASE(reference_instants_of_closed_forms) {
  struct Row {
    const char* name;
    waveforms::StepResponse step;
    double duration_s, middle_s, tolerance_s;
  };
  const double ns = 1e-9;
  const Row rows[] = {
      {"ramp 100 ns: 0.8 T0", waveforms::ramp(100 * ns), 80 * ns, 50 * ns, 0.01 * ns},
      {"single pole 50 ns: ln 9 tau", waveforms::single_pole(50 * ns), 2.19722 * 50 * ns, 0.693147 * 50 * ns, 0.02 * ns},
      {"Gaussian 20 ns: 2.5631 sigma", waveforms::gaussian(20 * ns), 2.56310 * 20 * ns, 0, 0.02 * ns},
      {"second order 0.2", waveforms::second_order(1 / (50 * ns), 0.2), 1.2034 * 50 * ns, 1.1333 * 50 * ns, 0.02 * ns},
      {"second order 0.5", waveforms::second_order(1 / (50 * ns), 0.5), 1.6376 * 50 * ns, 1.2940 * 50 * ns, 0.02 * ns},
      {"second order 0.7071", waveforms::second_order(1 / (50 * ns), std::sqrt(0.5)), 2.1480 * 50 * ns, 1.4333 * 50 * ns, 0.02 * ns},
  };
  for (const auto& row : rows) BOOST_TEST_CONTEXT(row.name) {
      const auto found = of_one_pulse(row.step, 0.5e-9);
      BOOST_TEST_REQUIRE(found.size() == 2u);
      BOOST_TEST(found[0].rising);
      BOOST_TEST(!found[1].rising);
      for (const auto& t : found) {
        BOOST_TEST(std::abs(p10_90(t) - row.duration_s) < row.tolerance_s);
        const double edge_s = t.rising ? 1e-6 : 3e-6;
        BOOST_TEST(std::abs(t.mid_s - edge_s - row.middle_s) < row.tolerance_s);
      }
    }
}

BOOST_AUTO_TEST_CASE(receiver_levels_of_a_single_pole) {
  const double tau_s = 50e-9;
  const auto found = of_one_pulse(waveforms::single_pole(tau_s), 0.5e-9);
  // Level x of the swing is crossed tau ln(1/(1-x)) after a rising edge begins, tau ln(1/x) after a falling one (mathematics).
  const auto vil = [](const analyzer::Transition& t) { return static_cast<double>(t.vil_offset_s); };
  const auto vih = [](const analyzer::Transition& t) { return static_cast<double>(t.vih_offset_s); };
  BOOST_TEST(vil(found[0]) == tau_s * (std::log(1 / 0.7) - std::log(2)), tt::tolerance(1e-3));
  BOOST_TEST(vih(found[0]) == tau_s * (std::log(1 / 0.3) - std::log(2)), tt::tolerance(1e-3));
  BOOST_TEST(vil(found[1]) == tau_s * (std::log(1 / 0.3) - std::log(2)), tt::tolerance(1e-3));
  BOOST_TEST(vih(found[1]) == tau_s * (std::log(1 / 0.7) - std::log(2)), tt::tolerance(1e-3));
}

BOOST_AUTO_TEST_CASE(threshold_shift_of_a_slow_pulse_is_tau_ln_of_the_odds) {
  // The pulse is longer by tau ln((1 - theta) / theta) at threshold theta (mathematics).
  const double tau_s = 60e-9;
  const auto pulses = analyzer::pulses_of(of_one_pulse(waveforms::single_pole(tau_s), 0.5e-9));
  BOOST_TEST_REQUIRE(pulses.size() == 1u);
  BOOST_TEST(pulses[0].high_s == 2e-6, tt::tolerance(1e-5));
  BOOST_TEST(pulses[0].high_at_vil_s - 2e-6 == 0.847298 * tau_s, tt::tolerance(1e-3));
  BOOST_TEST(pulses[0].high_at_vih_s - 2e-6 == -0.847298 * tau_s, tt::tolerance(1e-3));
  BOOST_TEST(std::isnan(pulses[0].low_after_s));
}

BOOST_AUTO_TEST_CASE(stretched_time_stretches_the_result) {
  const auto once = of_one_pulse(waveforms::single_pole(50e-9), 1e-9);
  waveforms::Signal signal{.step = waveforms::single_pole(500e-9), .edges_s = {10e-6, 30e-6}, .end_s = 50e-6};
  const auto record = waveforms::sample(signal, {.sample_interval_s = 10e-9, .start_s = 3.7e-9, .adc_bits = 0});
  const auto slow = analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5);
  BOOST_TEST_REQUIRE(slow.size() == once.size());
  for (std::size_t i = 0; i < slow.size(); ++i) {
    BOOST_TEST(slow[i].mid_s == 10 * once[i].mid_s, tt::tolerance(1e-6));
    BOOST_TEST(p10_90(slow[i]) == 10 * p10_90(once[i]), tt::tolerance(1e-4));
  }
}

BOOST_AUTO_TEST_CASE(mirrored_samples_rise_where_they_fell) {
  waveforms::Signal signal{.step = waveforms::ramp(40e-9), .edges_s = {1e-6, 2e-6}, .end_s = 3e-6};
  const auto record = waveforms::sample(signal, {.sample_interval_s = 2e-9, .adc_bits = 0});
  auto view = record.view();
  view.scale = -1;
  view.offset = 5;
  const auto found = analyzer::find_transitions(view, five_volts, 1.5, 3.5);
  BOOST_TEST_REQUIRE(found.size() == 2u);
  BOOST_TEST(!found[0].rising);
  BOOST_TEST(found[1].rising);
  BOOST_TEST(found[0].mid_s == 1.02e-6, tt::tolerance(1e-6));
}

BOOST_AUTO_TEST_CASE(noise_makes_no_transitions_on_slow_edges) {
  const auto bits = waveforms::random_bits(400, 5);
  const auto signal = waveforms::bit_train({.bits = bits}, waveforms::single_pole(120e-9));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 2e-9, .noise_rms_v = 0.08, .seed = 11});
  const auto found = analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5, 0.08, 10.0 / 256);
  BOOST_TEST_REQUIRE(found.size() == 2 * bits.size());
  std::size_t recrossed = 0, broken = 0;
  for (const auto& t : found) recrossed += t.recrossings > 0, broken += !t.monotonic;
  BOOST_TEST(recrossed == 0u);
  BOOST_TEST(broken == 0u);
}

BOOST_AUTO_TEST_CASE(a_runt_stays_visible) {
  // A pulse that passes the middle but never gets to VIH.
  const auto runt = [](double t) { return t > 1e-6 && t < 1.2e-6 ? 3.1 : t > 2e-6 && t < 2.5e-6 ? 5.0 : 0.0; };
  const auto record = waveforms::sample_function(runt, 4e-6, {.sample_interval_s = 10e-9, .noise_rms_v = 0.02});
  const auto found = analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5, 0.02, 10.0 / 256);
  BOOST_TEST_REQUIRE(found.size() == 4u);
  BOOST_TEST(std::isnan(found[0].vih_offset_s));
  BOOST_TEST(!std::isnan(found[0].vil_offset_s));
  const auto pulses = analyzer::pulses_of(found);
  BOOST_TEST(std::isnan(pulses[0].high_at_vih_s));
  BOOST_TEST(!std::isnan(pulses[0].high_at_vil_s));
  BOOST_TEST(!std::isnan(pulses[1].high_at_vih_s));
}

BOOST_AUTO_TEST_CASE(ring_back_across_the_threshold_is_counted_once_an_excursion) {
  // R/Z0 = 0.25 (gamma -0.6): 8.0, 3.2, 6.08, 4.352 V: one dip below VIH = 3.5 V after a rising edge, one swing above
  // VIL = 1.5 V after a falling one (-3.0, 1.8 V): sums of arrivals of the open line (closed form).
  const auto signal = waveforms::bit_train({.bits = waveforms::bits_of({0xFF}), .idle_s = 4e-6}, waveforms::lattice({.edge_s = 4e-9, .gaussian_s = 2e-9}));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 2e-9, .noise_rms_v = 0.02, .range_low_v = -5, .range_high_v = 10});
  const auto found = analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5, 0.02, 15.0 / 256);
  BOOST_TEST_REQUIRE(found.size() == 16u);
  for (const auto& t : found) BOOST_TEST(static_cast<int>(t.recrossings) == 1);
  for (const auto& p : analyzer::pulses_of(found)) BOOST_TEST(p.recrossed);
}

BOOST_AUTO_TEST_CASE(a_dent_on_the_edge_is_not_monotonic) {
  const auto dent = [](double t) {
    if (t < 1e-6) return 0.0;
    const double up = std::min(5.0, (t - 1e-6) * 25e6);
    return t > 1.1e-6 && t < 1.13e-6 ? up - 0.8 : up;
  };
  const auto record = waveforms::sample_function(dent, 3e-6, {.sample_interval_s = 5e-9, .noise_rms_v = 0.01});
  const auto found = analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5, 0.01, 10.0 / 256);
  BOOST_TEST_REQUIRE(found.size() == 1u);
  BOOST_TEST(!found[0].monotonic);
}

BOOST_AUTO_TEST_CASE(levels_that_are_missing_give_no_transitions) {
  const auto record = waveforms::sample_function([](double) { return 1.0; }, 1e-6, {});
  BOOST_TEST(analyzer::find_transitions(record.view(), analyzer::Levels{}, 1.5, 3.5).empty());
  BOOST_TEST(analyzer::find_transitions({}, five_volts, 1.5, 3.5).empty());
}

// Two threads must not change a single result.
BOOST_AUTO_TEST_CASE(long_records_give_the_same_as_their_parts) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(9000, 9), .idle_s = 50e-6}, waveforms::ramp(30e-9));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 10e-9, .noise_rms_v = 0.03});
  BOOST_TEST_REQUIRE(record.volts.size() > (1u << 20));
  const auto whole = analyzer::find_transitions(record.view(), five_volts, 1.5, 3.5, 0.03, 10.0 / 256);
  BOOST_TEST(whole.size() == 18000u);
  for (std::size_t i = 0; i < whole.size(); ++i) {
    const double nominal_s = signal.edges_s[i] + 15e-9;
    if (std::abs(whole[i].mid_s - nominal_s) > 1e-9 || whole[i].rising != (i % 2 == 0)) BOOST_TEST_REQUIRE(false, "transition " << i);
  }
}

BOOST_AUTO_TEST_CASE(logic_intervals_have_an_uncertainty_of_ts_over_root_6) {
  // Interval D = (n + f) Ts seen by an asynchronous clock with f unknown: triangular error on +-Ts, u = Ts / sqrt(6) (JCGM 100:2008,
  // 4.3.9: variance a^2 / 6; from memory) = 0.40825 Ts.
  const double ts = 41.667e-9;
  std::mt19937 generator(3);
  std::uniform_real_distribution<double> any(0, 1);
  double squares = 0;
  const int n = 40000;
  for (int i = 0; i < n; ++i) {
    const double width = 300e-9 + any(generator) * 20 * ts;
    const waveforms::Signal signal{.step = waveforms::ramp(0), .edges_s = {1e-6, 1e-6 + width}};
    const auto found = analyzer::transitions_of_logic(waveforms::logic_changes(signal, ts, any(generator) * ts));
    const auto pulses = analyzer::pulses_of(found);
    squares += std::pow(pulses.at(0).high_s - width, 2) / n;
  }
  BOOST_TEST(std::sqrt(squares) == ts / std::sqrt(6), tt::tolerance(0.015));  // 40000 draws: 0.35 % standard error
  BOOST_TEST(analyzer::logic_width_uncertainty(ts, 0).single_s == 0.40825 * ts, tt::tolerance(1e-5));
}

BOOST_AUTO_TEST_SUITE_END()
