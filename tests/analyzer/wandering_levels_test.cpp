// Captures whose levels are no steady 0 and 5 V, and what must not be made of that.

#include <boost/test/unit_test.hpp>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "analyzer/diagnose.hpp"
#include "tests/support/told.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

// Inside the windows that the editions of the WS2812B sheet (PDF of 2013-05-30 and later) leave together.
waveforms::BitTrain clear_train(unsigned seed = 3) {
  return {.bits = waveforms::random_bits(72, seed), .t0h_s = 350e-9, .t0l_s = 900e-9, .t1h_s = 800e-9, .t1l_s = 450e-9,
          .idle_s = 320e-6, .frames = 3, .latch_gap_s = 320e-6, .high_v = 4.9, .jitter_s = 0.3e-9, .seed = seed};
}

waveforms::StepResponse line(double source_ratio, double td_s) {
  return waveforms::lattice({.source_ratio = source_ratio, .td_s = td_s, .edge_s = 7e-9, .gaussian_s = 3e-9});
}

waveforms::Scope scope(double interval_s, unsigned seed = 1) {
  return {.sample_interval_s = interval_s, .start_s = seed * 0.6e-6, .noise_rms_v = 0.03, .range_low_v = -6, .range_high_v = 12, .seed = seed};
}

Diagnosis of(const waveforms::BitTrain& bits, const waveforms::StepResponse& step, const waveforms::Scope& with) {
  return diagnose(waveforms::sample(waveforms::bit_train(bits, step), with).capture(), {});
}

// A matched line whose driver's supply falls by `sag` along each frame.
Diagnosis of_sagging(const waveforms::BitTrain& bits, double sag, const waveforms::Scope& with) {
  const auto signal = waveforms::bit_train(bits, line(1.05, 25e-9));
  const double frame_s = static_cast<double>(bits.bits.size()) * (bits.t0h_s + bits.t0l_s), repeat_s = frame_s + bits.latch_gap_s;
  const auto volts_at = [&](double t) {
    const double into_s = std::fmod(std::max(0.0, t - bits.idle_s), repeat_s);
    return signal.at(t) * (1 - sag * std::min(1.0, into_s / frame_s));
  };
  return diagnose(waveforms::sample_function(volts_at, signal.end_s, with).capture(), {});
}

// On a matched line; the ground jumps within 100 ns for a share of each period.
Diagnosis of_bouncing(double bounce_v, double rate_hz, double share, double interval_s, unsigned seed) {
  const auto signal = waveforms::bit_train(clear_train(seed), line(1, 60e-9));
  const auto volts_at = [&](double t) {
    const double phase = std::fmod(t * rate_hz, 1.0);
    return signal.at(t) + (phase < share ? bounce_v * std::min(1.0, phase / rate_hz / 100e-9) : 0);
  };
  return diagnose(waveforms::sample_function(volts_at, signal.end_s, scope(interval_s, seed)).capture(), {});
}

bool named_or_open(const Diagnosis& diagnosis, std::string_view id, std::string_view other = {}) {
  const auto& top = diagnosis.verdict.causes.front();
  return top.id == id || top.id == other || top.confidence < 0.5;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(wandering_levels)

// Where a bit is nearly a whole number of samples, each bin holds the edges of other levels than the next one: what differs
// between them comes back with every sample and is no ring.
BOOST_AUTO_TEST_CASE(a_pattern_of_the_sample_clock_is_no_ring_of_the_probe) {
  const auto bits = clear_train();
  for (const double interval_s : {6.277e-9, 6.282e-9, 6.308e-9, 8.579e-9})
    for (unsigned seed = 1; seed <= 6; ++seed) {
      const auto diagnosis = of_sagging(bits, 0.36, scope(interval_s, seed));
      for (const auto& cause : diagnosis.verdict.causes) BOOST_TEST(cause.id != "probe-artefact", interval_s << " " << told(diagnosis));
    }
}

BOOST_AUTO_TEST_CASE(a_bouncing_ground_is_no_fault_of_the_resistor) {
  struct Bounce {
    double volts, rate_hz, share, interval_s;
  };
  for (const auto& [volts, rate_hz, share, interval_s] : {Bounce{2.03, 3460, 0.23, 9.86e-9}, {1.98, 26.0e3, 0.42, 5.52e-9}, {1.67, 2571, 0.67, 9.08e-9},
                                                          {2.09, 24.4e3, 0.54, 7.75e-9}, {1.66, 30.6e3, 0.42, 4.94e-9}, {1.82, 3800, 0.39, 5.73e-9}})
    for (unsigned seed = 1; seed <= 3; ++seed) {
      const auto diagnosis = of_bouncing(volts, rate_hz, share, interval_s, seed);
      BOOST_TEST(named_or_open(diagnosis, "crosstalk-or-noise", "ground-offset"), volts << " V, " << rate_hz << " Hz: " << told(diagnosis));
    }
}

// Mains hum of a loose ground: within one capture it only shifts both levels, and the swing would reach VIH from 0 V.
BOOST_AUTO_TEST_CASE(a_swing_shifted_downwards_is_no_weak_driver) {
  const auto signal = waveforms::bit_train(clear_train(), line(1, 60e-9));
  for (const double shift_v : {-1.5, -1.7}) {
    const auto volts_at = [&](double t) { return signal.at(t) + shift_v * std::cos(2 * std::numbers::pi * 50 * t); };
    const auto diagnosis = diagnose(waveforms::sample_function(volts_at, signal.end_s, scope(8e-9)).capture(), {});
    BOOST_TEST(named_or_open(diagnosis, "ground-offset", "crosstalk-or-noise"), shift_v << " V: " << told(diagnosis));
  }
}

// The first pulses of a frame stand above the level of all, which is no overshoot.
BOOST_AUTO_TEST_CASE(a_sagging_supply_is_no_ring) {
  for (const double sag : {0.32, 0.38})
    for (const double interval_s : {4.1e-9, 7.4e-9, 9.4e-9}) {
      const auto diagnosis = of_sagging(clear_train(), sag, scope(interval_s));
      BOOST_TEST(diagnosis.verdict.causes.front().id == "supply-sag", sag << " " << interval_s << " " << told(diagnosis));
    }
}

// A peak that the step of the converter leaves on either side of the limit says little about the resistor.
BOOST_AUTO_TEST_CASE(a_small_overshoot_on_the_limit_is_no_sure_fault) {
  auto bits = clear_train();
  bits.high_v = 5.12;
  const auto diagnosis = of(bits, line(0.92, 100e-9), scope(7.3e-9));
  BOOST_TEST((diagnosis.verdict.result == Outcome::marginal), told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().confidence < 0.5, told(diagnosis));
}

// Peaks of more than twice the supply: whatever the pulses look like, the line makes them.
BOOST_AUTO_TEST_CASE(a_violent_ring_is_no_other_protocol) {
  for (const auto& [ratio, td_s] : {std::pair{0.115, 149.8e-9}, {0.0847, 105.8e-9}}) {
    auto with = scope(7.03e-9);
    with.range_low_v = -12, with.range_high_v = 18;
    const auto diagnosis = of(clear_train(1), line(ratio, td_s), with);
    BOOST_TEST(named_or_open(diagnosis, "underdamped-source"), ratio << " " << td_s << " " << told(diagnosis));
  }
}

// Edges of many samples: what the clock leaves of the shortest pulses is the line's work.
BOOST_AUTO_TEST_CASE(slivers_of_a_very_slow_line_are_not_undersampled) {
  for (const auto& [ratio, td_s] : {std::pair{8.94, 93.4e-9}, {8.4, 108.9e-9}})
    for (unsigned seed = 1; seed <= 3; ++seed) {
      const auto diagnosis = of(clear_train(seed), line(ratio, td_s), scope(9.5e-9, seed));
      BOOST_TEST(named_or_open(diagnosis, "overdamped-source"), ratio << " " << td_s << " " << told(diagnosis));
    }
}

// High state on the first step of the stairs: the rest is no overshoot, the level no low drive and lost bits no loss elsewhere.
BOOST_AUTO_TEST_CASE(a_level_on_a_step_of_the_stairs_is_not_believed) {
  for (const auto& [ratio, td_s] : {std::pair{4.52, 104.9e-9}, {4.75, 102.1e-9}, {4.6, 104e-9}})
    for (unsigned seed = 1; seed <= 3; ++seed) {
      const auto diagnosis = of(clear_train(seed), line(ratio, td_s), scope(6.7e-9, seed));
      BOOST_TEST(named_or_open(diagnosis, "overdamped-source"), ratio << " " << td_s << " " << told(diagnosis));
    }
}

BOOST_AUTO_TEST_SUITE_END()
