#include "analyzer/verdict/checks.hpp"

#include <boost/test/unit_test.hpp>

#include "analyzer/protocol/windows.hpp"
#include "analyzer/verdict/verdict.hpp"

using namespace pulsewright::analyzer;

namespace {

WidthStatistics widths(double mean_s, double spread_s = 1e-9) {
  WidthStatistics found;
  found.count = 100;
  found.mean_s = Measured::of(mean_s, 0.2e-9);
  found.sd_s = Measured::of(spread_s / 3, 0.05e-9);
  found.min_s = Measured::of(mean_s - spread_s, 0.5e-9);
  found.max_s = Measured::of(mean_s + spread_s, 0.5e-9);
  found.at_vil_mean_s = found.at_vil_max_s = Measured::of(mean_s + 8e-9, 0.5e-9);
  found.at_vih_mean_s = found.at_vih_min_s = Measured::of(mean_s - 8e-9, 0.5e-9);
  return found;
}

// A sound line into a WS2812B at 5 V, every figure well inside its limits.
struct Sound {
  Diagnosis d;
  Observations seen;

  Sound() {
    d.settings.windows = *find_windows("ws2812b-800k-2013-05", {});
    d.settings.protocol_stated = true;
    auto& levels = d.levels;
    levels.low_v = Measured::of(0.02, 0.01);
    levels.high_v = Measured::of(4.95, 0.05);
    levels.amplitude_v = Measured::of(4.93, 0.05);
    levels.high_plateau_min_v = Measured::of(4.9, 0.05);
    levels.low_plateau_max_v = Measured::of(0.1, 0.02);
    levels.high_drift_v = Measured::of(0, 0.01);
    levels.low_drift_v = Measured::of(0, 0.01);
    levels.peak_max_v = Measured::of(5.1, 0.06);
    levels.peak_min_v = Measured::of(-0.1, 0.02);
    for (auto* edge : {&d.rising, &d.falling}) {
      edge->count = 200;
      edge->duration_10_90_s = Measured::of(20e-9, 1e-9);
      edge->overshoot_ratio = Measured::of(0.03, 0.005);
      edge->monotonic = true;
    }
    d.pulses.zero = {100, widths(400e-9), widths(850e-9)};
    d.pulses.one = {100, widths(800e-9), widths(450e-9)};
    d.pulses.period = widths(1250e-9);
    d.pulses.latch_gap_min_s = Measured::of(300e-6, 1e-9);
    d.pulses.longest_pause_in_frame_s = Measured::of(0.9e-6, 1e-9);
    d.frames.count = 4;
    seen.complete_frames = 4;
    seen.shape = {.pulses = 200,
                  .period_s = 1250e-9,
                  .steady_ratio = 1,
                  .two_classes = true,
                  .short_s = 400e-9,
                  .long_s = 800e-9,
                  .spread_s = 1e-9,
                  .boundary_s = 600e-9};
    seen.interval.width = {.single_s = 0.5e-9, .common_ratio = 29e-6, .common_s = 0.1e-9};
  }

  Outcome answer(const char* id) {
    d.checks = run_checks(d, seen);
    const auto* check = find_check(d.checks, id);
    BOOST_TEST_REQUIRE((check != nullptr), id);
    return check->result;
  }

  Outcome whole(std::string_view* cause = nullptr) {
    d.checks = run_checks(d, seen);
    conclude(d, seen, {});
    align_suggestion(d);
    if (cause) *cause = d.verdict.causes.front().id;
    return d.verdict.result;
  }
};

struct Step {
  double value;
  Outcome wanted;
};

template <class Set>
void walk(const char* id, std::initializer_list<Step> steps, Set set) {
  for (const auto& step : steps) {
    Sound sound;
    set(sound, step.value);
    const Outcome got = sound.answer(id);
    BOOST_TEST((got == step.wanted),
               id << " at " << step.value << ": " << to_string(got) << ", wanted " << to_string(step.wanted));
  }
}

}  // namespace

BOOST_AUTO_TEST_SUITE(checks)

BOOST_AUTO_TEST_CASE(a_sound_line_passes_every_deciding_check) {
  Sound sound;
  std::string_view cause;
  BOOST_TEST((sound.whole(&cause) == Outcome::pass), sound.d.verdict.headline);
  BOOST_TEST(cause == "none");
  for (const auto& check : sound.d.checks) {
    BOOST_TEST((check.result == Outcome::pass), check.id << " " << to_string(check.result));
    BOOST_TEST(!check.source.empty(), check.id);
    BOOST_TEST(!check.text.empty(), check.id);
    BOOST_TEST(!check.name.empty(), check.id);
  }
}

// Each check on both sides of its limit and inside the guard band U = 2 u.
// WS2812B data sheet, PDF of 2013-05-30: VIH 0.7 VDD, VIL 0.3 VDD, input from -0.5 V to VDD + 0.5 V.
BOOST_AUTO_TEST_CASE(levels_on_both_sides_of_their_limits) {
  walk("high-level",
       {{3.61, Outcome::pass}, {3.55, Outcome::marginal}, {3.45, Outcome::marginal}, {3.39, Outcome::fail}},
       [](Sound& sound, double v) { sound.d.levels.high_plateau_min_v = Measured::of(v, 0.05); });
  walk("low-level",
       {{1.39, Outcome::pass}, {1.45, Outcome::marginal}, {1.55, Outcome::marginal}, {1.61, Outcome::fail}},
       [](Sound& sound, double v) { sound.d.levels.low_plateau_max_v = Measured::of(v, 0.05); });
}

BOOST_AUTO_TEST_CASE(excursions_on_both_sides_of_their_limits) {
  walk("overshoot",
       {{5.39, Outcome::pass}, {5.45, Outcome::marginal}, {5.55, Outcome::marginal}, {5.61, Outcome::fail}},
       [](Sound& sound, double v) { sound.d.levels.peak_max_v = Measured::of(v, 0.05); });
  walk("undershoot",
       {{-0.39, Outcome::pass}, {-0.45, Outcome::marginal}, {-0.55, Outcome::marginal}, {-0.61, Outcome::fail}},
       [](Sound& sound, double v) { sound.d.levels.peak_min_v = Measured::of(v, 0.05); });
}

BOOST_AUTO_TEST_CASE(counts_that_must_be_zero) {
  walk("recrossing", {{0, Outcome::pass}, {1, Outcome::fail}},
       [](Sound& sound, double n) { sound.d.rising.recrossings = static_cast<std::size_t>(n); });
  walk("undecided", {{0, Outcome::pass}, {1, Outcome::fail}},
       [](Sound& sound, double n) { sound.d.pulses.undecided = static_cast<std::size_t>(n); });
  walk("whole-pixels", {{0, Outcome::pass}, {1, Outcome::fail}},
       [](Sound& sound, double n) { sound.seen.frames_with_leftover = static_cast<std::size_t>(n); });
  walk("repeated-frames", {{0, Outcome::pass}, {1, Outcome::marginal}},
       [](Sound& sound, double n) { sound.seen.odd_frames = static_cast<std::size_t>(n); });
}

BOOST_AUTO_TEST_CASE(a_reversal_alone_is_marginal_and_fails_with_a_return) {
  Sound sound;
  sound.d.rising.monotonic = false;
  BOOST_TEST((sound.answer("monotonic") == Outcome::marginal));
  sound.d.rising.recrossings = 1;
  BOOST_TEST((sound.answer("monotonic") == Outcome::fail));
}

// WS2812B data sheet, PDF of 2013-05-30: T0H 250 to 550 ns, T1H 650 to 950 ns, reset 50 us, period 1250 ns +-600 ns.
BOOST_AUTO_TEST_CASE(times_on_both_sides_of_their_limits) {
  const auto zero = [](Sound& sound, double ns) { sound.d.pulses.zero.high_width = widths(ns * 1e-9); };
  walk("t0h",
       {{535, Outcome::pass},
        {545, Outcome::marginal},
        {550, Outcome::marginal},
        {560, Outcome::fail},
        {265, Outcome::pass},
        {240, Outcome::fail}},
       zero);
  const auto one = [](Sound& sound, double ns) { sound.d.pulses.one.high_width = widths(ns * 1e-9); };
  walk("t1h", {{935, Outcome::pass}, {950, Outcome::marginal}, {960, Outcome::fail}, {640, Outcome::fail}}, one);
  walk("latch-gap", {{50.01e-6, Outcome::pass}, {50e-6, Outcome::marginal}, {49.99e-6, Outcome::fail}},
       [](Sound& sound, double s) { sound.d.pulses.latch_gap_min_s = Measured::of(s, 1e-9); });
  walk("speed", {{1840e-9, Outcome::pass}, {1860e-9, Outcome::fail}, {640e-9, Outcome::fail}},
       [](Sound& sound, double s) { sound.seen.shape.period_s = s; });
}

BOOST_AUTO_TEST_CASE(low_times_are_advice_only) {
  Sound sound;
  sound.d.pulses.one.low_width = widths(900e-9);
  BOOST_TEST((sound.answer("t1l") == Outcome::fail));
  BOOST_TEST(find_check(sound.d.checks, "t1l")->advisory);
  BOOST_TEST((sound.whole() == Outcome::pass));
}

// Chip characterisation logs of 2026-02: a tested WS2812B takes up to 562 ns as 0; the limit of the sheet of 2013-05-30 is 550 ns.
BOOST_AUTO_TEST_CASE(measured_acceptance_stands_beside_the_sheet_and_does_not_decide) {
  Sound sound;
  sound.d.pulses.zero.high_width = widths(556e-9, 0.4e-9);
  BOOST_TEST((sound.answer("measured-zero") == Outcome::marginal));
  sound.d.pulses.zero.high_width = widths(552e-9, 0.4e-9);
  sound.d.pulses.zero.high_width.at_vil_max_s = sound.d.pulses.zero.high_width.at_vil_mean_s =
      Measured::of(553e-9, 0.5e-9);
  sound.d.pulses.zero.high_width.at_vih_min_s = sound.d.pulses.zero.high_width.at_vih_mean_s =
      Measured::of(551e-9, 0.5e-9);
  BOOST_TEST((sound.answer("measured-zero") == Outcome::pass));
  BOOST_TEST((sound.answer("t0h") == Outcome::fail));
  BOOST_TEST(find_check(sound.d.checks, "measured-zero")->advisory);
}

// Inside at the mid level, outside for thresholds near VIH or VIL.
BOOST_AUTO_TEST_CASE(slow_edges_leave_the_width_to_the_threshold) {
  Sound sound;
  auto& zero = sound.d.pulses.zero.high_width;
  const auto with = [&](double at_vil_ns, double at_vih_ns) {
    zero.at_vil_mean_s = zero.at_vil_max_s = Measured::of(at_vil_ns * 1e-9, 1e-9);
    zero.at_vih_mean_s = zero.at_vih_min_s = Measured::of(at_vih_ns * 1e-9, 1e-9);
    return sound.answer("t0h");
  };
  BOOST_TEST((with(540, 260) == Outcome::pass));
  BOOST_TEST((with(600, 200) == Outcome::marginal));
  BOOST_TEST((with(900, 50) == Outcome::fail));
}

BOOST_AUTO_TEST_CASE(one_stray_width_is_not_averaged_away) {
  Sound sound;
  sound.d.pulses.zero.high_width.max_s = Measured::of(600e-9, 0.5e-9);
  BOOST_TEST((sound.answer("t0h") == Outcome::fail));
  sound.d.pulses.zero.high_width.max_s = Measured::of(401e-9, 0.5e-9);
  BOOST_TEST((sound.answer("t0h") == Outcome::pass));
}

BOOST_AUTO_TEST_CASE(what_was_not_seen_is_never_a_pass) {
  for (const char* id : {"high-level", "low-level", "overshoot", "undershoot"}) {
    Sound sound;
    sound.seen.no_voltages_because = "no volts";
    BOOST_TEST((sound.answer(id) == Outcome::cannot_tell), id);
    BOOST_TEST((sound.whole() == Outcome::cannot_tell));
  }
  Sound edges;
  edges.seen.no_edges_because = "no edges";
  BOOST_TEST((edges.answer("recrossing") == Outcome::cannot_tell));
  BOOST_TEST((edges.whole() == Outcome::cannot_tell));
  Sound times;
  times.seen.no_timing_because = "no times";
  BOOST_TEST((times.answer("t0h") == Outcome::cannot_tell));
  BOOST_TEST((times.whole() == Outcome::cannot_tell));
  Sound near;
  near.d.settings.at = ProbePosition::near;
  BOOST_TEST((near.whole() == Outcome::cannot_tell));
}

BOOST_AUTO_TEST_CASE(clipping_hides_a_peak_but_not_one_beyond_the_limit) {
  Sound sound;
  sound.d.capture.clipped_high = 40;
  BOOST_TEST((sound.answer("overshoot") == Outcome::cannot_tell));
  sound.d.levels.peak_max_v = Measured::of(6.2, 0.05);
  BOOST_TEST((sound.answer("overshoot") == Outcome::fail));
}

BOOST_AUTO_TEST_CASE(pauses_and_frames_outside_a_short_record_do_not_block_a_pass) {
  Sound sound;
  sound.d.pulses.latch_gap_min_s = Measured::none("no pause");
  sound.seen.complete_frames = 0;
  BOOST_TEST((sound.whole() == Outcome::pass));
  BOOST_TEST(sound.d.verdict.headline.find("outside this record") != std::string::npos, sound.d.verdict.headline);
}

BOOST_AUTO_TEST_CASE(every_failing_check_finds_a_cause_with_an_action) {
  const std::pair<const char*, void (*)(Sound&)> kFaults[] = {
      {"low-drive-level",
       [](Sound& s) { s.d.levels.high_plateau_min_v = s.d.levels.high_v = Measured::of(3.2, 0.05); }},
      {"ground-offset", [](Sound& s) { s.d.levels.low_plateau_max_v = s.d.levels.low_v = Measured::of(1.8, 0.05); }},
      {"latch-gap-short", [](Sound& s) { s.d.pulses.latch_gap_min_s = Measured::of(20e-6, 1e-9); }},
      {"bits-lost", [](Sound& s) { s.seen.frames_with_leftover = 1; }},
      {"source-timing", [](Sound& s) { s.d.pulses.one.high_width = widths(1100e-9); }},
      {"crosstalk-or-noise", [](Sound& s) { s.d.rising.recrossings = 3; }},
      {"crosstalk-or-noise", [](Sound& s) { s.d.pulses.undecided = 3; }},
      {"underdamped-source",
       [](Sound& s) {
         s.d.levels.peak_max_v = Measured::of(6.5, 0.05);
         s.d.rising.overshoot_ratio = Measured::of(0.3, 0.01);
       }},
      {"underdamped-source", [](Sound& s) { s.d.levels.peak_min_v = Measured::of(-0.8, 0.05); }},
      {"wrong-protocol", [](Sound& s) { s.seen.shape.period_s = 2.5e-6; }},
  };
  for (const auto& [wanted, spoil] : kFaults) {
    Sound sound;
    spoil(sound);
    std::string_view cause;
    BOOST_TEST((sound.whole(&cause) == Outcome::fail), wanted);
    BOOST_TEST(cause == wanted);
    const auto& top = sound.d.verdict.causes.front();
    BOOST_TEST((!top.refuted_by.empty() && !top.action.empty() && !top.evidence.empty()), wanted);
    BOOST_TEST((sound.d.suggestion.action != Action::keep), wanted);
  }
}

BOOST_AUTO_TEST_SUITE_END()
