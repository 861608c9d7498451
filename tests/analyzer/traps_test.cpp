// Captures that invite a wrong verdict, each made from a formula, and the verdict and leading cause that are right.

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <functional>
#include <numbers>
#include <string>

#include "analyzer/diagnose.hpp"
#include "tests/support/told.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

// 18 m of cable at 0.6 of the speed of light: 100 ns one way.
constexpr double kDelay_s = 100e-9;

waveforms::StepResponse line(double source_ratio) {
  return waveforms::lattice({.source_ratio = source_ratio, .td_s = kDelay_s, .edge_s = 8e-9, .gaussian_s = 4e-9});
}

waveforms::BitTrain train() {
  return {
      .bits = waveforms::random_bits(96, 3), .idle_s = 320e-6, .frames = 4, .latch_gap_s = 320e-6, .jitter_s = 0.3e-9};
}

// The clock is not locked to the data: 1250 ns are 157.7 samples.
waveforms::Scope scope() {
  return {.sample_interval_s = 7.93e-9, .noise_rms_v = 0.02, .range_low_v = -4, .range_high_v = 9};
}

Diagnosis of(const waveforms::BitTrain& bits, const waveforms::StepResponse& step,
             const waveforms::Scope& with = scope(), const Settings& settings = {}) {
  return diagnose(waveforms::sample(waveforms::bit_train(bits, step), with).capture(), settings);
}

Diagnosis of_function(const std::function<double(double)>& volts_at, const Settings& settings = {}) {
  return diagnose(waveforms::sample_function(volts_at, 500e-6, scope()).capture(), settings);
}

importers::Capture logic_of(const waveforms::BitTrain& bits, double interval_s) {
  const auto signal = waveforms::bit_train(bits, waveforms::ramp(0));
  return waveforms::logic_capture(waveforms::logic_changes(signal, interval_s, 0.37 * interval_s), interval_s, signal.end_s);
}

void expect(const Diagnosis& diagnosis, Outcome outcome, std::string_view cause, Action action) {
  BOOST_TEST_REQUIRE(!diagnosis.verdict.causes.empty());
  const auto& top = diagnosis.verdict.causes.front();
  BOOST_TEST((diagnosis.verdict.result == outcome), "wanted " << to_string(outcome) << ", got " << told(diagnosis));
  BOOST_TEST((top.id == cause), "wanted " << cause << ", got " << told(diagnosis));
  BOOST_TEST((diagnosis.suggestion.action == action), "wanted " << to_string(action) << ", got "
                                                                << to_string(diagnosis.suggestion.action) << "; "
                                                                << told(diagnosis));
  BOOST_TEST(!diagnosis.verdict.headline.empty());
  for (const auto& found : diagnosis.verdict.causes) {
    BOOST_TEST((found.confidence > 0 && found.confidence < 1), found.id);
    BOOST_TEST(!found.refuted_by.empty(), found.id << " says nothing that would refute it");
    BOOST_TEST(!found.action.empty(), found.id);
  }
  if (outcome == Outcome::cannot_tell) BOOST_TEST(!diagnosis.verdict.recapture_advice.empty(), told(diagnosis));
}

}  // namespace

BOOST_AUTO_TEST_SUITE(traps)

BOOST_AUTO_TEST_CASE(a_single_spike_on_a_sound_line_calls_for_another_look_not_for_a_part) {
  auto samples = waveforms::sample(waveforms::bit_train(train(), line(1)), scope());
  auto capture = samples.capture();
  capture.channels.front().values[20000] = -1.7F;
  const auto found = diagnose(capture, {});
  BOOST_TEST((found.verdict.result == Outcome::fail), told(found));
  BOOST_TEST((found.suggestion.action == Action::recapture), told(found));
  BOOST_TEST(found.suggestion.text == found.verdict.causes.front().action);
}

BOOST_AUTO_TEST_CASE(a_clean_line_passes) {
  expect(of(train(), line(1)), Outcome::pass, "none", Action::keep);
}

// R / Z0 = 0.25: first overshoot 60 %, ring-back to 64 % (open line, closed form).
BOOST_AUTO_TEST_CASE(a_ringing_line_fails) {
  const auto diagnosis = of(train(), line(0.25));
  expect(diagnosis, Outcome::fail, "underdamped-source", diagnosis.suggestion.action);
  const bool resistor = diagnosis.suggestion.action == Action::change_series_resistor;
  BOOST_TEST(resistor, to_string(diagnosis.suggestion.action));
}

// The same through a scope whose codes end at 6.49 V and -0.9 V: how far it rings is not in the record, what to do about it is.
BOOST_AUTO_TEST_CASE(a_ring_that_the_range_cuts_off_is_told_as_a_lower_bound) {
  auto narrow = scope();
  narrow.range_low_v = -0.9, narrow.range_high_v = 6.5;
  const auto diagnosis = of(train(), line(0.25), narrow);
  BOOST_TEST(diagnosis.capture.clipped_high > 0u);
  expect(diagnosis, Outcome::fail, "underdamped-source", Action::change_series_resistor);
  BOOST_TEST(diagnosis.verdict.headline.find("rings: at least ") != std::string::npos, diagnosis.verdict.headline);
  BOOST_TEST(diagnosis.verdict.headline.find("peaks to at least 6.49 V") != std::string::npos, diagnosis.verdict.headline);
  BOOST_TEST(*diagnosis.line.source_ratio == 0.25, boost::test_tools::tolerance(0.1));
  for (const auto& overshoot : {diagnosis.rising.overshoot_ratio, diagnosis.falling.overshoot_ratio, diagnosis.verdict.causes.front().evidence.at("overshoot_ratio")})
    BOOST_TEST((!overshoot && overshoot.missing.starts_with("at least ")), overshoot.missing);
}

// R / Z0 = 0.12: the ring comes back to 38 % of the swing and adds pulses of its own.
BOOST_AUTO_TEST_CASE(a_line_that_rings_through_the_threshold_is_no_other_protocol) {
  const auto diagnosis = of(train(), line(0.12),
                            {.sample_interval_s = 7.93e-9, .noise_rms_v = 0.02, .range_low_v = -8, .range_high_v = 13});
  BOOST_TEST((diagnosis.verdict.result == Outcome::fail), told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().id == "underdamped-source", told(diagnosis));
}

// The same with the chip stated: pulses added by the ring are no other bit rate, so the chip is not to blame.
BOOST_AUTO_TEST_CASE(a_line_that_rings_through_the_threshold_is_no_wrong_speed) {
  const auto diagnosis = of(train(), line(0.12), {.sample_interval_s = 7.93e-9, .noise_rms_v = 0.02, .range_low_v = -8, .range_high_v = 13},
                            {.protocol = "WS2812B"});
  BOOST_TEST((diagnosis.verdict.result == Outcome::fail), told(diagnosis));
  for (const auto& cause : diagnosis.verdict.causes) BOOST_TEST(cause.id != "wrong-protocol", told(diagnosis));
}

// R / Z0 = 5 at 100 MS/s: what stays above the middle of a 0 is a remnant, no pulse that the clock missed.
BOOST_AUTO_TEST_CASE(a_line_that_never_settles_is_not_undersampled) {
  for (const double ratio : {4.0, 5.0}) {
    const auto step = waveforms::lattice({.source_ratio = ratio, .td_s = 127e-9, .edge_s = 9e-9, .gaussian_s = 3e-9});
    const auto diagnosis = of(train(), step, {.sample_interval_s = 9.7e-9, .noise_rms_v = 0.04, .range_low_v = -6, .range_high_v = 12});
    for (const auto& cause : diagnosis.verdict.causes) BOOST_TEST(cause.id != "undersampled", ratio << " " << told(diagnosis));
    BOOST_TEST((diagnosis.verdict.result != Outcome::pass), told(diagnosis));
  }
}

// Near end of an open line: Z0 / (R + Z0) at once; the n-th echo adds Z0 / (R + Z0) (1 + gamma) gamma^(n-1) at 2 n Td (wave sum).
BOOST_AUTO_TEST_CASE(the_step_at_the_near_end_tells_the_resistor) {
  for (const double ratio : {2.0, 2.9}) {
    const double gamma = (ratio - 1) / (ratio + 1), launched = 1 / (1 + ratio);
    const auto one = waveforms::lattice({.source_ratio = 1, .td_s = 20e-9, .edge_s = 8e-9, .gaussian_s = 4e-9});
    const waveforms::StepResponse near{[=](double t) {
                                         double sum = launched * one.at(t), height = launched * (1 + gamma);
                                         for (int n = 1; n < 40; ++n, height *= gamma) sum += height * one.at(t - 2 * n * kDelay_s);
                                         return sum;
                                       },
                                       one.begins_s, 80 * kDelay_s};
    const auto diagnosis = of(train(), near, scope(), {.protocol = "WS2812B", .series_ohm = 220, .at = ProbePosition::near});
    BOOST_TEST((diagnosis.verdict.result == Outcome::cannot_tell), told(diagnosis));
    const auto& top = diagnosis.verdict.causes.front();
    BOOST_TEST_REQUIRE(top.id == "overdamped-source", told(diagnosis));
    BOOST_TEST((diagnosis.suggestion.action == Action::change_series_resistor), to_string(diagnosis.suggestion.action));
    // No state that is not settled, no bits that no threshold finds.
    const auto& high_v = diagnosis.levels.high_v;
    BOOST_TEST((!high_v || std::abs(*high_v - 5) < 2 * high_v.u + 0.1), *high_v << " +- " << high_v.u);
    BOOST_TEST((high_v || (diagnosis.frames.count == 0 && diagnosis.pulses.zero.count == 0 && !diagnosis.pulses.zero.high_width.mean_s)));
    // With random bits the levels of the longer staircase do not settle within a bit, and the step is not measured.
    if (ratio > 2) continue;
    const auto& found = top.evidence.at("source_ratio");
    BOOST_TEST(std::abs(*found - ratio) < 2 * found.u + 0.05 * ratio, *found << " +- " << found.u << " for " << ratio);
    BOOST_TEST(std::abs(*top.evidence.at("round_trip_s") - 2 * kDelay_s) < 10e-9, *top.evidence.at("round_trip_s"));
  }
}

// 220 ohm and a driver of 20 ohm on 85 ohm: R / Z0 = 2.8; the times are those in use for 12 V pixels.
BOOST_AUTO_TEST_CASE(an_overdamped_line_fails) {
  auto bits = train();
  bits.t0h_s = 300e-9, bits.t0l_s = 950e-9, bits.t1h_s = 900e-9, bits.t1l_s = 350e-9;
  const auto diagnosis = of(bits, line(2.8), scope(), {.protocol = "WS2815"});
  expect(diagnosis, Outcome::fail, "overdamped-source", diagnosis.suggestion.action);
  BOOST_TEST((diagnosis.suggestion.action == Action::change_series_resistor), to_string(diagnosis.suggestion.action));
}

// R / Z0 = 3 and 6 on a long line: no level settles within a bit, the highest state looks like 3 V.
BOOST_AUTO_TEST_CASE(a_line_that_never_settles_is_no_low_drive) {
  for (const double ratio : {3.0, 6.0}) {
    auto bits = train();
    bits.t0h_s = 350e-9, bits.t0l_s = 900e-9, bits.t1h_s = 700e-9, bits.t1l_s = 550e-9;
    const auto step = waveforms::lattice({.source_ratio = ratio, .td_s = 127e-9, .edge_s = 9e-9, .gaussian_s = 3e-9});
    const auto diagnosis =
        of(bits, step, {.sample_interval_s = 6.1e-9, .noise_rms_v = 0.04, .range_low_v = -6, .range_high_v = 12});
    BOOST_TEST((diagnosis.verdict.result == Outcome::fail), told(diagnosis));
    BOOST_TEST(diagnosis.verdict.causes.front().id == "overdamped-source", told(diagnosis));
    BOOST_TEST((diagnosis.suggestion.action != Action::shift_level && diagnosis.suggestion.action != Action::keep),
               told(diagnosis));
  }
}

BOOST_AUTO_TEST_CASE(three_volts_into_five_volt_pixels_fail) {
  auto bits = train();
  bits.high_v = 3.3;
  expect(of(bits, line(1)), Outcome::fail, "low-drive-level", Action::shift_level);
}

// WS2812B-V5/W V6.1: VIH = 0.63 VDD = 3.15 V, here at a supply of 4.6 V 2.9 V: the same 3.3 V pass.
BOOST_AUTO_TEST_CASE(three_volts_pass_where_the_sheet_says_so) {
  auto bits = train();
  bits.high_v = 3.3;
  bits.t0h_s = 300e-9, bits.t0l_s = 950e-9, bits.t1h_s = 750e-9, bits.t1l_s = 600e-9;
  expect(of(bits, line(1), scope(), {.protocol = "WS2812B-V5", .supply_v = 4.6}), Outcome::pass, "none", Action::keep);
}

BOOST_AUTO_TEST_CASE(a_lifted_ground_fails) {
  auto bits = train();
  bits.low_v = 1.75;
  bits.high_v = 6.7;
  expect(of(bits, line(1), scope(), {.supply_v = 6.2}), Outcome::marginal, "ground-offset", Action::fix_ground);
  bits.low_v = 1.9, bits.high_v = 5.1;
  expect(of(bits, line(1)), Outcome::fail, "ground-offset", Action::fix_ground);
}

// The supply of the driver gives way by 1.6 V along each frame.
BOOST_AUTO_TEST_CASE(a_sagging_supply_is_named) {
  const auto bits = train();
  const auto signal = waveforms::bit_train(bits, line(1));
  const double frame_s = 96 * 1.25e-6, repeat_s = frame_s + bits.latch_gap_s;
  const auto sagging = [&](double t_s) {
    const double into_s = std::fmod(std::max(0.0, t_s - bits.idle_s), repeat_s);
    return signal.at(t_s) * (1 - 0.36 * std::min(1.0, into_s / frame_s));
  };
  const auto record = waveforms::sample_function(sagging, signal.end_s, scope());
  expect(diagnose(record.capture(), {}), Outcome::fail, "supply-sag", Action::fix_ground);
}

BOOST_AUTO_TEST_CASE(wrong_bit_times_of_the_controller_fail) {
  auto bits = train();
  bits.t0h_s = 620e-9, bits.t0l_s = 630e-9, bits.t1h_s = 950e-9, bits.t1l_s = 400e-9;
  expect(of(bits, line(1), scope(), {.protocol = "WS2812B"}), Outcome::fail, "source-timing",
         Action::fix_source_timing);
}

BOOST_AUTO_TEST_CASE(unsteady_bit_times_fail) {
  auto bits = train();
  bits.jitter_s = 90e-9;
  const auto diagnosis = of(bits, line(1), scope(), {.protocol = "WS2812B"});
  expect(diagnosis, Outcome::fail, "source-timing", Action::fix_source_timing);
}

BOOST_AUTO_TEST_CASE(a_short_pause_between_frames_fails) {
  auto bits = train();
  bits.latch_gap_s = 30e-6;
  expect(of(bits, line(1), scope(), {.protocol = "ws2812b-800k-later"}), Outcome::fail, "latch-gap-short",
         Action::fix_source_timing);
}

BOOST_AUTO_TEST_CASE(a_pause_that_only_older_parts_take_is_on_the_edge) {
  auto bits = train();
  bits.latch_gap_s = 80e-6;
  expect(of(bits, line(1)), Outcome::marginal, "latch-gap-short", Action::fix_source_timing);
}

// One bit missing in the second of four frames.
BOOST_AUTO_TEST_CASE(a_dropped_bit_fails) {
  auto signal = waveforms::bit_train(train(), line(1));
  signal.edges_s.erase(signal.edges_s.begin() + 2 * (96 + 41), signal.edges_s.begin() + 2 * (96 + 42));
  expect(diagnose(waveforms::sample(signal, scope()).capture(), {}), Outcome::fail, "bits-lost",
         Action::fix_source_timing);
}

// Stated 800 kbit/s chip, sent at 400 kbit/s.
BOOST_AUTO_TEST_CASE(another_protocol_than_stated_fails) {
  auto bits = train();
  bits.t0h_s = 500e-9, bits.t0l_s = 2000e-9, bits.t1h_s = 1200e-9, bits.t1l_s = 1300e-9;
  expect(of(bits, line(1), scope(), {.protocol = "WS2812B"}), Outcome::fail, "wrong-protocol",
         Action::fix_source_timing);
}

BOOST_AUTO_TEST_CASE(the_slow_protocol_passes_when_nobody_claims_another) {
  auto bits = train();
  bits.t0h_s = 500e-9, bits.t0l_s = 2000e-9, bits.t1h_s = 1200e-9, bits.t1l_s = 1300e-9;
  expect(of(bits, line(1)), Outcome::pass, "none", Action::keep);
}

// 250/1000 and 600/650 ns: right for WS2811 at high speed, outside WS2812B; nobody said which chip it is.
BOOST_AUTO_TEST_CASE(pulses_of_a_relative_are_no_confident_fail) {
  auto bits = train();
  bits.t0h_s = 250e-9, bits.t0l_s = 1000e-9, bits.t1h_s = 600e-9, bits.t1l_s = 650e-9;
  expect(of(bits, line(1)), Outcome::marginal, "source-timing", Action::fix_source_timing);
  expect(of(bits, line(1), scope(), {.protocol = "ws2811-800k-2011-tol150"}), Outcome::pass, "none", Action::keep);
}

// Asynchronous serial text at 250 kbit/s is no pixel data.
BOOST_AUTO_TEST_CASE(serial_text_cannot_be_judged) {
  waveforms::Signal signal{.step = line(1), .edges_s = {}, .low_v = 0, .high_v = 5, .end_s = 0};
  bool level = false;
  double t_s = 20e-6;
  const auto drive = [&](bool bit) {
    if (bit != level) signal.edges_s.push_back(t_s);
    level = bit;
    t_s += 4e-6;
  };
  for (unsigned byte = 0; byte < 40; ++byte) {
    drive(false);
    for (const bool bit : waveforms::random_bits(8, byte + 1)) drive(bit);
    drive(true);
    drive(true);
  }
  signal.end_s = t_s;
  const auto diagnosis = diagnose(waveforms::sample(signal, scope()).capture(), {});
  BOOST_TEST((diagnosis.verdict.result == Outcome::cannot_tell), told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().id == "wrong-protocol", told(diagnosis));
}

BOOST_AUTO_TEST_CASE(too_few_samples_cannot_tell) {
  auto coarse = scope();
  coarse.sample_interval_s = 1 / 4e6;
  expect(of(train(), line(1), coarse), Outcome::cannot_tell, "undersampled", Action::recapture);
  coarse.sample_interval_s = 1 / 8e6;
  expect(of(train(), line(1), coarse), Outcome::cannot_tell, "undersampled", Action::recapture);
}

BOOST_AUTO_TEST_CASE(a_clipped_capture_cannot_tell) {
  auto narrow = scope();
  narrow.range_low_v = -0.3, narrow.range_high_v = 4.2;
  expect(of(train(), line(1), narrow), Outcome::cannot_tell, "clipped-capture", Action::recapture);
}

BOOST_AUTO_TEST_CASE(an_inverted_capture_cannot_tell) {
  auto mirrored = scope();
  mirrored.gain = -1, mirrored.offset_v = 5;
  expect(of(train(), line(1), mirrored), Outcome::cannot_tell, "inverted-capture", Action::recapture);
}

BOOST_AUTO_TEST_CASE(a_flat_line_cannot_tell) {
  expect(of_function([](double) { return 0.02; }), Outcome::cannot_tell, "flat-line", Action::recapture);
}

// 5 V with 60 mV of ripple at 120 kHz and switching spikes.
BOOST_AUTO_TEST_CASE(a_power_rail_cannot_tell) {
  const auto rail = [](double t_s) {
    const double phase = std::fmod(t_s * 120e3, 1.0);
    return 5 + 0.06 * (phase - 0.5) + 0.15 * std::exp(-phase * 60) * std::cos(phase * 500);
  };
  expect(of_function(rail), Outcome::cannot_tell, "power-rail", Action::recapture);
}

BOOST_AUTO_TEST_CASE(a_wrong_probe_factor_cannot_tell) {
  auto tenth = scope();
  tenth.gain = 0.1, tenth.noise_rms_v = 0.004, tenth.range_low_v = -0.2, tenth.range_high_v = 0.8;
  expect(of(train(), line(1), tenth), Outcome::cannot_tell, "probe-factor", Action::recapture);
  auto tenfold = scope();
  tenfold.gain = 10, tenfold.noise_rms_v = 0.2, tenfold.range_low_v = -20, tenfold.range_high_v = 80;
  expect(of(train(), line(1), tenfold), Outcome::cannot_tell, "probe-factor", Action::recapture);
}

// The same capture once the factor is stated.
BOOST_AUTO_TEST_CASE(a_stated_factor_repairs_it) {
  auto tenth = scope();
  tenth.gain = 0.1, tenth.noise_rms_v = 0.002, tenth.range_low_v = -0.2, tenth.range_high_v = 0.8;
  expect(of(train(), line(1), tenth, {.multiply = 10}), Outcome::pass, "none", Action::keep);
}

// 150 nH of ground lead and 15 pF ring at 106 MHz (probe maker's manual, about 130 MHz at 10 pF).
BOOST_AUTO_TEST_CASE(a_ring_of_the_probe_is_not_the_line) {
  auto fast = scope();
  fast.sample_interval_s = 0.97e-9;
  auto bits = train();
  bits.bits = waveforms::random_bits(48, 3);
  bits.idle_s = 20e-6, bits.frames = 1;
  const auto probe = waveforms::second_order(2 * std::numbers::pi * 106e6, 0.15);
  const auto diagnosis = of(bits, probe, fast);
  BOOST_TEST((diagnosis.verdict.result != Outcome::pass), told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().id == "probe-artefact", told(diagnosis));
  BOOST_TEST((diagnosis.verdict.result == Outcome::cannot_tell), told(diagnosis));
  BOOST_TEST((diagnosis.suggestion.action == Action::recapture), to_string(diagnosis.suggestion.action));
}

BOOST_AUTO_TEST_CASE(noise_that_reaches_the_thresholds_is_named) {
  auto noisy = scope();
  noisy.noise_rms_v = 0.55;
  const auto diagnosis = of(train(), line(1), noisy);
  BOOST_TEST((diagnosis.verdict.result == Outcome::fail || diagnosis.verdict.result == Outcome::marginal),
             told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().id == "crosstalk-or-noise", told(diagnosis));
  BOOST_TEST((diagnosis.suggestion.action == Action::change_cable), to_string(diagnosis.suggestion.action));
}

BOOST_AUTO_TEST_CASE(a_slow_probe_hides_the_edges) {
  const auto diagnosis = of(train(), waveforms::single_pole(0.35 / 5e6 / std::log(9)), scope(), {.bandwidth_hz = 5e6});
  BOOST_TEST((diagnosis.verdict.result == Outcome::cannot_tell), told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().id == "bandwidth-limited", told(diagnosis));
}

// Good bits in a logic capture prove no voltage.
BOOST_AUTO_TEST_CASE(a_good_logic_capture_is_no_pass) {
  const auto diagnosis = diagnose(logic_of(train(), 1 / 100e6), {});
  BOOST_TEST((diagnosis.verdict.result == Outcome::cannot_tell), told(diagnosis));
  BOOST_TEST(diagnosis.verdict.causes.front().id == "none", told(diagnosis));
  BOOST_TEST(diagnosis.pulses.zero.count + diagnosis.pulses.one.count == 384u);
  BOOST_TEST((!diagnosis.levels.high_v && !diagnosis.levels.high_v.missing.empty()));
}

// 700 and 1000 ns with pauses of 550 and 250 ns: a line of 100 ns or more one way makes them of right times; one of 2 m does not.
BOOST_AUTO_TEST_CASE(a_logic_capture_on_a_long_line_cannot_tell_it_from_the_controller) {
  auto bits = train();
  bits.t0h_s = 700e-9, bits.t0l_s = 550e-9, bits.t1h_s = 1000e-9, bits.t1l_s = 250e-9;
  const auto capture = logic_of(bits, 1 / 100e6);
  for (const auto at : {std::optional<ProbePosition>(), std::optional(ProbePosition::far), std::optional(ProbePosition::near)}) {
    const auto diagnosis = diagnose(capture, {.protocol = "WS2812B", .at = at});
    expect(diagnosis, Outcome::cannot_tell, "source-timing", Action::recapture);
    BOOST_TEST(diagnosis.verdict.causes.front().confidence < 0.5, told(diagnosis));
    BOOST_TEST(diagnosis.verdict.headline.find("cannot tell") != std::string::npos, told(diagnosis));
  }
  const auto short_line = diagnose(capture, {.protocol = "WS2812B", .length_m = 2});
  expect(short_line, Outcome::fail, "source-timing", Action::fix_source_timing);
  const auto on_the_pin = diagnose(capture, {.protocol = "WS2812B", .series_ohm = 0, .at = ProbePosition::near});
  expect(on_the_pin, Outcome::fail, "source-timing", Action::fix_source_timing);
}

// 620 and 1000 ns with a pause after a 1 of 670 ns: what shortens the highs lengthens that pause further beyond its window.
BOOST_AUTO_TEST_CASE(a_logic_capture_shows_times_that_no_line_makes) {
  auto bits = train();
  bits.t0h_s = 620e-9, bits.t0l_s = 630e-9, bits.t1h_s = 1000e-9, bits.t1l_s = 670e-9;
  const auto diagnosis = diagnose(logic_of(bits, 1 / 100e6), {.protocol = "WS2812B"});
  expect(diagnosis, Outcome::fail, "source-timing", Action::fix_source_timing);
}

// A threshold behind 47 ohm waits for the echo as well, if it lies beside the middle: 150 ns longer highs.
BOOST_AUTO_TEST_CASE(a_logic_probe_behind_a_resistor_does_not_blame_the_controller) {
  auto bits = train();
  bits.t0h_s = 601e-9, bits.t0l_s = 649e-9, bits.t1h_s = 1001e-9, bits.t1l_s = 249e-9;
  for (const auto series_ohm : {std::optional<double>(), std::optional(47.0), std::optional(220.0)}) {
    const Settings settings{.protocol = "WS2812B", .series_ohm = series_ohm, .at = ProbePosition::near};
    const auto diagnosis = diagnose(logic_of(bits, 1 / 100e6), settings);
    expect(diagnosis, Outcome::cannot_tell, "source-timing", Action::recapture);
    BOOST_TEST(diagnosis.verdict.causes.front().confidence < 0.5, told(diagnosis));
    BOOST_TEST(diagnosis.verdict.causes.front().refuted_by.find("before the series resistor") != std::string::npos);
  }
}

// Counts without a scale: times can be judged, voltages cannot.
BOOST_AUTO_TEST_CASE(counts_are_no_volts) {
  auto capture = waveforms::sample(waveforms::bit_train(train(), line(1)), scope()).capture();
  capture.channels[0].kind = importers::ChannelKind::counts;
  capture.channels[0].unit = "count";
  for (auto& value : capture.channels[0].values) value = value * 20 + 100;
  const auto diagnosis = diagnose(capture, {});
  BOOST_TEST((diagnosis.verdict.result == Outcome::cannot_tell), told(diagnosis));
  BOOST_TEST(diagnosis.pulses.zero.count + diagnosis.pulses.one.count == 384u);
}

BOOST_AUTO_TEST_CASE(an_unknown_chip_is_a_settings_error) {
  BOOST_CHECK_THROW(of(train(), line(1), scope(), {.protocol = "no such chip"}), SettingsError);
}

BOOST_AUTO_TEST_CASE(one_sample_and_one_edge_do_not_crash) {
  waveforms::Record one{.volts = {1.0f}, .sample_interval_s = 1e-8, .start_s = 0};
  BOOST_TEST((diagnose(one.capture(), {}).verdict.result == Outcome::cannot_tell));
  waveforms::Record edge{.volts = std::vector<float>(100, 0.0f), .sample_interval_s = 1e-8, .start_s = 0};
  for (std::size_t i = 50; i < 100; ++i) edge.volts[i] = 5;
  BOOST_TEST((diagnose(edge.capture(), {}).verdict.result == Outcome::cannot_tell));
}

BOOST_AUTO_TEST_SUITE_END()
