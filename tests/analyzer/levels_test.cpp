#include "analyzer/pulse/levels.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <vector>

#include "tests/support/waveforms.hpp"

using namespace pulsewright;
namespace tt = boost::test_tools;

namespace {

// Check vector of the state-level methods; values computed with NumPy from the definitions of IEEE Std 181-2003, pp. 15-17 (histogram
// method: bin index floor((y - y_min) / w), y_max in the last bin, middle bin in the lower half) and Andrews et al. 1972 (shorth of
// floor(n/2) + 1 values).
const std::vector<double> vector_of_22{0.02, -0.01, 0.00, 0.01, 0.00, -0.02, 0.01, 0.00, 1.2,  3.9,  6.1,
                                       4.6,  5.3,   4.9,  5.05, 4.98, 5.01,  5.00, 4.99, 5.00, 5.00, 5.01};

const auto bits = waveforms::random_bits(240, 7);

waveforms::Record ringing_record(double noise_rms_v, unsigned seed = 1) {
  const auto signal = waveforms::bit_train({.bits = bits}, waveforms::lattice({.source_ratio = 0.25, .edge_s = 5e-9, .gaussian_s = 3e-9}));
  return waveforms::sample(signal, {.sample_interval_s = 10e-9, .noise_rms_v = noise_rms_v, .range_low_v = -4, .range_high_v = 10, .seed = seed});
}

}  // namespace

BOOST_AUTO_TEST_SUITE(levels)

BOOST_AUTO_TEST_CASE(histogram_modes_of_the_check_vector) {
  struct Row {
    std::size_t bins;
    double low, high;
  };
  for (const auto& row : {Row{10, 0.2860, 5.1820}, Row{50, 0.0412, 5.0596}, Row{100, 0.0106, 5.0290}, Row{200, -0.0047, 5.0137}}) {
    const auto [low, high] = analyzer::histogram_levels(vector_of_22, row.bins);
    BOOST_TEST_CONTEXT("bins " << row.bins) {
      BOOST_TEST(std::abs(low - row.low) < 5.1e-5);  // printed to four decimals
      BOOST_TEST(std::abs(high - row.high) < 5.1e-5);
    }
  }
}

BOOST_AUTO_TEST_CASE(shorth_of_the_check_vector) {
  const auto [low, high] = analyzer::shorth_levels(vector_of_22);
  BOOST_TEST(low.low == 0.00, tt::tolerance(1e-12));
  BOOST_TEST(low.high == 0.01, tt::tolerance(1e-12));
  BOOST_TEST(low.mean == 0.004, tt::tolerance(1e-9));
  BOOST_TEST(high.low == 4.98, tt::tolerance(1e-12));
  BOOST_TEST(high.high == 5.01, tt::tolerance(1e-12));
  BOOST_TEST(std::abs(high.mean - 4.99857) < 5.1e-6);
}

BOOST_AUTO_TEST_CASE(the_converters_step_counts_once_in_a_peak) {
  const auto signal = waveforms::bit_train({.bits = bits}, waveforms::lattice({.source_ratio = 1, .edge_s = 5e-9, .gaussian_s = 3e-9}));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 10e-9, .noise_rms_v = 0.02, .range_low_v = -4, .range_high_v = 10, .seed = 3});
  const auto states = analyzer::measure_states(record.view(), {.gain_ratio_u = 0});
  BOOST_TEST(states.levels.peak_max_v.u == *states.noise_rms_v, tt::tolerance(1e-9));
  BOOST_TEST(*states.noise_rms_v == std::hypot(0.02, 14 / 256.0 / std::sqrt(12.0)), tt::tolerance(0.1));
}

BOOST_AUTO_TEST_CASE(ringing_does_not_pull_the_states) {
  const auto states = analyzer::measure_states(ringing_record(0.02).view(), {.gain_ratio_u = 0});
  BOOST_TEST_REQUIRE(states.two_states);
  BOOST_TEST_MESSAGE("low " << *states.levels.low_v << " u " << states.levels.low_v.u << " high " << *states.levels.high_v << " u " << states.levels.high_v.u);
  BOOST_TEST(std::abs(*states.levels.low_v - 0) < 0.03);
  BOOST_TEST(std::abs(*states.levels.high_v - 5) < 0.10);
  BOOST_TEST(std::abs(*states.levels.high_v - 5) < 2.5 * states.levels.high_v.u);
}

// Levels spread evenly over 0.2 V about 5 V: quartiles 0.1 V apart, 1.349 standard deviations of a normal spread (Andrews et al. 1972).
BOOST_AUTO_TEST_CASE(pulses_of_different_heights_make_their_level_uncertain) {
  constexpr std::size_t pulses = 401, half = 50;
  std::vector<float> values;
  for (std::size_t p = 0; p < pulses; ++p) {
    const double high_v = 4.9 + 0.2 * static_cast<double>(p * 149 % pulses) / (pulses - 1.0);
    for (std::size_t i = 0; i < 2 * half; ++i) values.push_back(static_cast<float>((i < half ? 0 : high_v) + 1e-4 * std::sin(static_cast<double>(values.size()) * 1.7)));
  }
  values.insert(values.end(), half, 0);
  const auto states = analyzer::measure_states({.values = values, .sample_interval_s = 1e-8}, {.gain_ratio_u = 0});
  BOOST_TEST_REQUIRE(states.two_states);
  BOOST_TEST(std::abs(*states.levels.high_v - 5) < 1e-4);
  BOOST_TEST(states.levels.high_v.u == 0.1 / 1.349 / std::sqrt(static_cast<double>(pulses)), tt::tolerance(0.01));
  BOOST_TEST(states.levels.low_v.u < 1e-3);
}

BOOST_AUTO_TEST_CASE(slow_edges_that_hardly_reach_the_state) {
  const auto signal = waveforms::bit_train({.bits = bits}, waveforms::single_pole(180e-9));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 10e-9, .noise_rms_v = 0.02});
  const auto states = analyzer::measure_states(record.view(), {.gain_ratio_u = 0});
  BOOST_TEST_MESSAGE("low " << *states.levels.low_v << " u " << states.levels.low_v.u << " high " << *states.levels.high_v << " u " << states.levels.high_v.u);
  // After 800 ns the line stands at 5 (1 - exp(-800/180)) = 4.941 V (closed form).
  BOOST_TEST(*states.levels.high_v > 4.85);
  BOOST_TEST(*states.levels.high_v < 5.05);
  BOOST_TEST(std::abs(*states.levels.low_v) < 0.03);
}

BOOST_AUTO_TEST_CASE(long_idle_low_and_one_short_frame) {
  auto train = waveforms::BitTrain{.bits = waveforms::bits_of({0x00, 0x80, 0x00}), .idle_s = 5e-3};
  const auto record = waveforms::sample(waveforms::bit_train(train, waveforms::ramp(20e-9)), {.sample_interval_s = 20e-9, .noise_rms_v = 0.03});
  const auto states = analyzer::measure_states(record.view(), {.gain_ratio_u = 0});
  BOOST_TEST_REQUIRE(states.two_states);
  BOOST_TEST(std::abs(*states.levels.high_v - 5) < 0.04);
  BOOST_TEST(std::abs(*states.levels.low_v) < 0.02);
  BOOST_TEST(states.low_share > 0.99);
}

BOOST_AUTO_TEST_CASE(step_and_noise_of_an_eight_bit_record) {
  const auto states = analyzer::measure_states(ringing_record(0.05).view());
  BOOST_TEST(*states.adc_step_v == 14.0 / 256, tt::tolerance(1e-3));
  // Quantisation adds its own: sqrt(0.05^2 + step^2 / 12) (JCGM 100:2008, F.2.2.1: from memory). Stretches that still ring weakly add up to a tenth.
  const double noise_v = std::hypot(0.05, 14.0 / 256 / std::sqrt(12));
  BOOST_TEST(*states.noise_rms_v == noise_v, tt::tolerance(0.12));
  const auto quiet = waveforms::sample(waveforms::bit_train({.bits = bits}, waveforms::ramp(20e-9)),
                                       {.noise_rms_v = 0.05, .range_low_v = -4, .range_high_v = 10});
  BOOST_TEST(*analyzer::measure_states(quiet.view()).noise_rms_v == noise_v, tt::tolerance(0.04));
  BOOST_TEST(states.clipped_high == 0u);
  BOOST_TEST(states.clipped_low == 0u);
}

BOOST_AUTO_TEST_CASE(no_step_is_claimed_for_fine_values) {
  auto record = waveforms::sample(waveforms::bit_train({.bits = bits}, waveforms::ramp(20e-9)), {.noise_rms_v = 0.01, .adc_bits = 0});
  const auto states = analyzer::measure_states(record.view());
  BOOST_TEST(!states.adc_step_v.value.has_value());
  BOOST_TEST(!states.adc_step_v.missing.empty());
}

BOOST_AUTO_TEST_CASE(scaled_and_mirrored_volts) {
  const auto record = ringing_record(0.02);
  auto view = record.view();
  const auto plain = analyzer::measure_states(view);
  view.scale = -2;
  view.offset = 1;
  const auto mirrored = analyzer::measure_states(view);
  BOOST_TEST(*mirrored.levels.amplitude_v == 2 * *plain.levels.amplitude_v, tt::tolerance(1e-6));
  BOOST_TEST(*mirrored.levels.low_v == 1 - 2 * *plain.levels.high_v, tt::tolerance(1e-6));
  BOOST_TEST(*mirrored.noise_rms_v == 2 * *plain.noise_rms_v, tt::tolerance(1e-6));
}

BOOST_AUTO_TEST_CASE(clipped_overshoot_is_counted) {
  const auto signal = waveforms::bit_train({.bits = bits}, waveforms::lattice({.source_ratio = 0.25, .edge_s = 5e-9, .gaussian_s = 3e-9}));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 10e-9, .noise_rms_v = 0.03, .range_low_v = -0.6, .range_high_v = 6});
  const auto states = analyzer::measure_states(record.view());
  BOOST_TEST(states.clipped_high > 100u);
  BOOST_TEST(states.clipped_low > 100u);
}

BOOST_AUTO_TEST_CASE(one_level_only_is_not_two_states) {
  for (const double noise : {0.0, 0.03}) {
    const auto record = waveforms::sample_function([](double) { return 3.3; }, 100e-6, {.noise_rms_v = noise});
    const auto states = analyzer::measure_states(record.view());
    BOOST_TEST(!states.two_states);
    BOOST_TEST(!states.levels.amplitude_v.value.has_value());
    BOOST_TEST(!states.one_state_because.empty());
    BOOST_TEST(std::abs(*states.levels.low_v - 3.3) < 0.04);
  }
  BOOST_TEST(!analyzer::measure_states({}).two_states);
}

BOOST_AUTO_TEST_CASE(a_stray_sample_does_not_move_the_states) {
  auto record = waveforms::sample(waveforms::bit_train({.bits = bits}, waveforms::ramp(20e-9)), {.noise_rms_v = 0.02});
  record.volts[500] = 60;
  const auto states = analyzer::measure_states(record.view(), {.gain_ratio_u = 0});
  BOOST_TEST_REQUIRE(states.two_states);
  BOOST_TEST(std::abs(*states.levels.high_v - 5) < 0.05);
}

// A strong ring still swings at the end of the short pulses, whose ends move with the level: only the long ones tell the drift.
BOOST_AUTO_TEST_CASE(a_strong_ring_leaves_the_drift_alone) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(200, 3), .high_v = 4}, waveforms::lattice({.source_ratio = 0.22, .td_s = 58e-9, .edge_s = 5e-9, .gaussian_s = 4e-9}));
  const double begin = signal.edges_s.front(), end = signal.edges_s.back();
  const auto rising = [&](double t) { return signal.at(t) * (1 + 0.2 * std::clamp((t - begin) / (end - begin), 0.0, 1.0)); };
  const auto record = waveforms::sample_function(rising, signal.end_s, {.sample_interval_s = 3e-9, .noise_rms_v = 0.02, .range_low_v = -6, .range_high_v = 12});
  auto states = analyzer::measure_states(record.view());
  const auto transitions = analyzer::find_transitions(record.view(), states.levels, 1.5, 3.5, *states.noise_rms_v, *states.adc_step_v);
  analyzer::measure_plateaus(record.view(), transitions, states, states.levels);
  BOOST_TEST_REQUIRE(states.levels.high_drift_v.value.has_value());
  BOOST_TEST(std::abs(*states.levels.high_drift_v - 0.8) < 2 * states.levels.high_drift_v.u, *states.levels.high_drift_v);
  BOOST_TEST(states.levels.high_drift_v.u < 0.03);
}

BOOST_AUTO_TEST_CASE(sagging_high_level_shows_as_drift) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(600, 3)}, waveforms::ramp(20e-9));
  const double begin = 20e-6, end = signal.end_s - 20e-6;
  const auto sag = [&](double t) {
    const double v = signal.at(t);
    return v * (1 - 0.1 * std::clamp((t - begin) / (end - begin), 0.0, 1.0));
  };
  const auto record = waveforms::sample_function(sag, signal.end_s, {.noise_rms_v = 0.03});
  auto states = analyzer::measure_states(record.view());
  const auto transitions = analyzer::find_transitions(record.view(), states.levels, 1.5, 3.5, 0.03, 0.04);
  analyzer::measure_plateaus(record.view(), transitions, states, states.levels);
  BOOST_TEST_REQUIRE(states.levels.high_drift_v.value.has_value());
  BOOST_TEST(std::abs(*states.levels.high_drift_v + 0.5) < std::max(0.02, 2 * states.levels.high_drift_v.u));
  BOOST_TEST(std::abs(*states.levels.low_drift_v) < 0.02);
  BOOST_TEST(std::abs(*states.levels.high_plateau_min_v - 4.5) < 0.05);
  BOOST_TEST(std::abs(*states.levels.low_plateau_max_v) < 0.05);
}

BOOST_AUTO_TEST_SUITE_END()
