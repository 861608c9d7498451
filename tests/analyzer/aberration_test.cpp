#include "analyzer/pulse/aberration.hpp"

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <vector>

#include "analyzer/pulse/edge_response.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
namespace tt = boost::test_tools;

namespace {

struct Seen {
  waveforms::Record record;
  analyzer::States states;
  std::vector<analyzer::Transition> transitions;
  analyzer::TransitionSummary rising, falling;
};

Seen look_at(const waveforms::Signal& signal, const waveforms::Scope& scope, std::optional<double> bandwidth_hz = {}) {
  Seen seen{.record = waveforms::sample(signal, scope), .states = {}, .transitions = {}, .rising = {}, .falling = {}};
  const auto view = seen.record.view();
  seen.states = analyzer::measure_states(view);
  const auto& s = seen.states;
  seen.transitions = analyzer::find_transitions(view, s.levels, 1.5, 3.5, s.noise_rms_v.value.value_or(0), s.adc_step_v.value.value_or(0));
  const analyzer::TransitionContext context{.samples = view, .states = &seen.states, .accuracy = {}, .vil_v = 1.5, .vih_v = 3.5, .bandwidth_hz = bandwidth_hz};
  seen.rising = analyzer::summarize_transitions(context, seen.transitions, s.levels, true);
  seen.falling = analyzer::summarize_transitions(context, seen.transitions, s.levels, false);
  return seen;
}

// Long pulses, so that every closed form settles.
waveforms::Signal slow_train(waveforms::StepResponse step) {
  return waveforms::bit_train({.bits = waveforms::random_bits(120, 2), .t0h_s = 4e-6, .t0l_s = 4.013e-6, .t1h_s = 4e-6, .t1l_s = 4.013e-6}, std::move(step));
}

}  // namespace

BOOST_AUTO_TEST_SUITE(aberration)

BOOST_AUTO_TEST_CASE(closed_forms_through_eight_bits_and_noise) {
  struct Row {
    const char* name;
    waveforms::StepResponse step;
    double t10_90_s, t20_80_s, overshoot, settling_s;
  };
  const double ns = 1e-9, w = 1 / (50 * ns);
  // Terms: IEEE Std 181 (from memory). Values: closed forms (mathematics); second-order settling to 5 % from the 50 % instant computed with SciPy.
  const Row rows[] = {
      {"ramp", waveforms::ramp(100 * ns), 80 * ns, 60 * ns, 0, 45 * ns},
      {"single pole", waveforms::single_pole(50 * ns), 109.861 * ns, 69.315 * ns, 0, 50 * std::log(10) * ns},
      {"gaussian", waveforms::gaussian(40 * ns), 102.524 * ns, 67.330 * ns, 0, 1.64485 * 40 * ns},
      {"second order 0.2", waveforms::second_order(w, 0.2), 1.2034 * 50 * ns, 0, 0.5266, 12.61 * 50 * ns},
      {"second order 0.5", waveforms::second_order(w, 0.5), 1.6376 * 50 * ns, 0, 0.1630, 3.995 * 50 * ns},
  };
  for (const auto& row : rows) BOOST_TEST_CONTEXT(row.name) {
      const auto seen = look_at(slow_train(row.step), {.sample_interval_s = 10e-9, .noise_rms_v = 0.02, .range_low_v = -4, .range_high_v = 9});
      for (const auto* side : {&seen.rising, &seen.falling}) BOOST_TEST_CONTEXT((side == &seen.rising ? "rising" : "falling")) {
          BOOST_TEST(side->count == 120u);
          BOOST_TEST_REQUIRE(side->duration_10_90_s.value.has_value());
          BOOST_TEST(*side->duration_10_90_s == row.t10_90_s, tt::tolerance(0.01));
          if (row.t20_80_s > 0) BOOST_TEST(*side->duration_20_80_s == row.t20_80_s, tt::tolerance(0.01));
          BOOST_TEST(std::abs(*side->overshoot_ratio - row.overshoot) < 0.006);
          // Extremes of the second-order step lie exp(-n pi zeta / sqrt(1 - zeta^2)) beyond and short of the state: the square of the first.
          BOOST_TEST(std::abs(*side->undershoot_ratio - row.overshoot * row.overshoot) < 0.006);
          BOOST_TEST(*side->preshoot_ratio < 0.006);
          BOOST_TEST_REQUIRE(side->settling_s.value.has_value());
          BOOST_TEST(*side->settling_s == row.settling_s, tt::tolerance(0.03));
          BOOST_TEST(side->recrossings == 0u);
          BOOST_TEST(*side->monotonic);
        }
    }
}

// At the data rate of pixels a smooth edge has begun long before it crosses 10 %: 2.7 % of a Gaussian one at 1.5 times that way.
BOOST_AUTO_TEST_CASE(the_foot_of_the_next_edge_is_no_undershoot) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(240, 4)}, waveforms::gaussian(20e-9));
  const auto seen = look_at(signal, {.sample_interval_s = 3.03e-9, .noise_rms_v = 0.004, .adc_bits = 12, .range_low_v = -4, .range_high_v = 9});
  for (const auto* side : {&seen.rising, &seen.falling}) {
    BOOST_TEST(*side->undershoot_ratio < 0.005);
    BOOST_TEST(*side->preshoot_ratio < 0.005);
  }
}

// Lows of 700 ns behind a pole of 200 ns: the next edge begins exp(-3.5) = 3 % above the state it leaves, outside its boundaries.
BOOST_AUTO_TEST_CASE(without_an_old_state_there_is_no_preshoot) {
  const auto signal = waveforms::bit_train({.bits = std::vector<bool>(120, false), .t0h_s = 650e-9, .t0l_s = 700e-9}, waveforms::single_pole(200e-9));
  const auto seen = look_at(signal, {.sample_interval_s = 5.03e-9, .noise_rms_v = 0.01, .range_low_v = -4, .range_high_v = 9});
  BOOST_TEST(seen.rising.undershoot_ratio.value.has_value());
  BOOST_TEST(seen.rising.preshoot_ratio.missing == "the transition begins before the old state is reached");
}

BOOST_AUTO_TEST_CASE(too_few_samples_on_the_edge_give_a_bound_only) {
  const auto seen = look_at(slow_train(waveforms::ramp(10e-9)), {.sample_interval_s = 20e-9, .noise_rms_v = 0.02});
  BOOST_TEST(!seen.rising.duration_10_90_s.value.has_value());
  BOOST_TEST(seen.rising.duration_10_90_s.missing.starts_with("at most "));
  BOOST_TEST(seen.rising.overshoot_ratio.value.has_value());
}

BOOST_AUTO_TEST_CASE(root_sum_square_correction) {
  // tm 10 +- 0.3 ns, ts 5 +- 0.5 ns -> 8.660 ns, u 0.451 ns (worked by hand from u^2 = (tm/t)^2 u(tm)^2 + (ts/t)^2 u(ts)^2, the law of
  // propagation of JCGM 100:2008, 5.1.2, from memory). 0.35 / bandwidth: single pole, ln 9 / (2 pi) = 0.3497 (mathematics).
  const auto t = analyzer::root_difference_square(analyzer::Measured::of(10e-9, 0.3e-9), analyzer::Measured::of(5e-9, 0.5e-9));
  BOOST_TEST(*t == 8.660e-9, tt::tolerance(1e-4));
  BOOST_TEST(t.u == 0.451e-9, tt::tolerance(1e-3));
  // 100 MHz: 3.5 ns. 5 ns measured: ratio just above 1; 4.9 ns: below.
  BOOST_TEST(analyzer::without_bandwidth(analyzer::Measured::of(5e-9), 100e6).value.has_value());
  BOOST_TEST(!analyzer::without_bandwidth(analyzer::Measured::of(4.9e-9), 100e6).value.has_value());
  BOOST_TEST(!analyzer::without_bandwidth(analyzer::Measured::of(4.9e-9), 100e6).missing.empty());
  BOOST_TEST(!analyzer::without_bandwidth(analyzer::Measured::none("why"), 100e6).value.has_value());
}

// Errors of the corrected duration by exact convolution of ramp and exponential edges with one-pole and Gaussian systems (computed): the bound must cover them all.
BOOST_AUTO_TEST_CASE(the_bound_covers_the_exact_convolutions) {
  const double system = 3.5e-9;
  struct Row {
    double ratio;
    std::vector<double> errors;
  };
  for (const auto& row : {Row{1, {0.013, 0.156, -0.047, 0.044}}, Row{2, {-0.024, 0.067, -0.034, 0.019}},
                          Row{3, {-0.023, 0.036, -0.027, 0.009}}, Row{5, {-0.011, 0.015, -0.016, 0.0004}}}) {
    for (const double error : row.errors) {
      const double truth = row.ratio * system, corrected = truth * (1 + error);
      const auto back = analyzer::without_bandwidth(analyzer::Measured::of(std::hypot(corrected, system)), 0.35 / system);
      if (corrected < system) {
        BOOST_TEST(!back.value.has_value());
        continue;
      }
      BOOST_TEST(std::abs(*back - truth) < std::sqrt(3.0) * back.u);
    }
  }
}

BOOST_AUTO_TEST_CASE(interpolation_tables) {
  BOOST_TEST(analyzer::interpolation_excess_ratio(2) == 0.19, tt::tolerance(1e-9));
  BOOST_TEST(analyzer::interpolation_excess_ratio(10) == 0.008, tt::tolerance(1e-9));
  BOOST_TEST(analyzer::interpolation_instant_ratio(3) == 0.004, tt::tolerance(1e-9));
  // Against the linear interpolation itself, on a Gaussian edge, over all phases.
  for (const double samples : {2.0, 3.0, 5.0}) {
    double excess = 0;
    const double sigma_s = 1 / 2.5631, ts = 1 / samples;
    for (double phase = 0; phase < 1; phase += 0.005) {
      waveforms::Signal signal{.step = waveforms::gaussian(sigma_s), .edges_s = {5}, .low_v = 0, .high_v = 5, .end_s = 10};
      const auto record = waveforms::sample(signal, {.sample_interval_s = ts, .start_s = phase * ts, .adc_bits = 0});
      analyzer::Levels levels;
      levels.low_v = analyzer::Measured::of(0), levels.high_v = analyzer::Measured::of(5), levels.amplitude_v = analyzer::Measured::of(5);
      const auto t = analyzer::find_transitions(record.view(), levels, 1.5, 3.5).at(0);
      excess = std::max(excess, static_cast<double>(t.p90_offset_s) - static_cast<double>(t.p10_offset_s) - 1);
    }
    BOOST_TEST(analyzer::interpolation_excess_ratio(samples) == excess, tt::tolerance(0.06));
  }
}

BOOST_AUTO_TEST_CASE(logic_and_flat_records_say_why) {
  const auto summary = analyzer::summarize_transitions({}, {}, {}, true);
  BOOST_TEST(!summary.duration_10_90_s.value.has_value());
  BOOST_TEST(!summary.duration_10_90_s.missing.empty());
  BOOST_TEST(!summary.settling_s.missing.empty());
}

// R / Z0 = 2.8: each bit leaves a tail for the next. A mixture of histories would jump by tens of millivolts from bin to bin.
BOOST_AUTO_TEST_CASE(response_of_an_unsettled_line_has_no_jumps) {
  const auto step = waveforms::lattice({.source_ratio = 2.8, .td_s = 100e-9, .edge_s = 8e-9, .gaussian_s = 4e-9});
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(192, 5), .idle_s = 20e-6, .frames = 3, .latch_gap_s = 20e-6, .jitter_s = 0.3e-9}, step);
  const double noise_v = 0.02, interval_s = 5.03e-9;
  const auto record = waveforms::sample(signal, {.sample_interval_s = interval_s, .noise_rms_v = noise_v, .range_low_v = -4, .range_high_v = 9});
  const auto states = analyzer::measure_states(record.view());
  const auto transitions = analyzer::find_transitions(record.view(), states.levels, 1.5, 3.5, *states.noise_rms_v, *states.adc_step_v);
  for (const bool rising : {true, false}) {
    const auto edge = analyzer::edge_response(record.view(), transitions, rising, states.levels);
    BOOST_TEST_REQUIRE(edge.t_s.size() > 100u);
    BOOST_TEST(edge.bin_s <= interval_s / 8);
    BOOST_TEST(edge.transitions >= 48u);
    std::vector<double> jumps;
    for (std::size_t i = 1; i + 1 < edge.v.size(); ++i) jumps.push_back(std::abs(edge.v[i] - (edge.v[i - 1] + edge.v[i + 1]) / 2));
    std::sort(jumps.begin(), jumps.end());
    // Noise with the converter's step over 6 samples a bin: 1.96 sqrt(3/2) of the 1.09 standard errors of a middle-half mean
    // are 2.6; where the short pulses have ended, bins hold half as many, sqrt(2) more.
    const double each_v = std::hypot(noise_v, *states.adc_step_v / std::sqrt(12.0)) / std::sqrt(6.0);
    BOOST_TEST(jumps[jumps.size() * 95 / 100] < 3.7 * each_v, "jumps of " << jumps[jumps.size() * 95 / 100]);
  }
}

// R / Z0 = 2.8 and Td = 100 ns: after 300 ns a zero stands at three quarters of the way (lattice), so that no 10 % instant tells where its
// end begins. The foot of that end would pull the bins just before it, where the ones go on level.
BOOST_AUTO_TEST_CASE(the_end_of_an_unsettled_pulse_leaves_no_notch) {
  const auto step = waveforms::lattice({.source_ratio = 2.8, .td_s = 100e-9, .edge_s = 30e-9, .gaussian_s = 10e-9});
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(192, 5), .t0h_s = 300e-9, .t0l_s = 950e-9, .t1h_s = 850e-9, .t1l_s = 400e-9, .idle_s = 20e-6, .frames = 3, .latch_gap_s = 20e-6, .jitter_s = 0.3e-9}, step);
  const double noise_v = 0.02;
  const auto record = waveforms::sample(signal, {.sample_interval_s = 4.03e-9, .noise_rms_v = noise_v, .range_low_v = -4, .range_high_v = 9});
  const auto states = analyzer::measure_states(record.view());
  const auto transitions = analyzer::find_transitions(record.view(), states.levels, 1.5, 3.5, *states.noise_rms_v, *states.adc_step_v);
  const auto edge = analyzer::edge_response(record.view(), transitions, true, states.levels);
  BOOST_TEST_REQUIRE(edge.t_s.size() > 100u);
  double deepest_v = 0;
  for (std::size_t i = 8; i + 8 < edge.v.size(); ++i)
    if (edge.t_s[i] > 100e-9 && edge.t_s[i] < 500e-9) deepest_v = std::max(deepest_v, (edge.v[i - 8] + edge.v[i + 8]) / 2 - edge.v[i]);
  BOOST_TEST(deepest_v < 0.1, "a notch of " << deepest_v << " V");
}

BOOST_AUTO_TEST_SUITE_END()
