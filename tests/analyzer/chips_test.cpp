// Chips decoded from waveforms written to the nominal times of their data sheets, and pushed over each limit.

#include <boost/test/data/test_case.hpp>
#include <boost/test/unit_test.hpp>

#include "analyzer/diagnose.hpp"
#include "analyzer/diagnose/node.hpp"
#include "analyzer/protocol/frames.hpp"
#include "analyzer/verdict/checks.hpp"
#include "analyzer/verdict/decision.hpp"
#include "analyzer/verdict/width_check.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

// Times in ns from the data sheets named at the entries of the windows table.
struct Nominal {
  const char* id;
  double t0h, t1h, t0l, t1l;
  double high_v = 5;
};

std::ostream& operator<<(std::ostream& out, const Nominal& chip) {
  return out << chip.id;
}

const Nominal kChips[] = {
    {"ws2811-400k-2011", 500, 1200, 2000, 1300},   {"ws2811-800k-2011-tol150", 250, 600, 1000, 650},
    {"ws2812-800k-2012", 350, 700, 800, 600},      {"ws2812b-800k-2013-05", 400, 800, 850, 450},
    {"ws2812b-800k-2013-10", 350, 900, 900, 350},  {"ws2812b-v5-800k-v6.1", 300, 790, 790, 790},
    {"ws2813-800k-v1.0", 300, 1090, 1090, 320},    {"ws2814-800k-v1.4", 300, 790, 950, 600},
    {"ws2815b-800k-v2.2", 300, 710, 950, 650},     {"ws2818-800k-2016", 350, 1000, 900, 350},
    {"sk6812-800k-rev01", 300, 600, 900, 600},     {"sk6812-800k-rev06", 320, 640, 930, 610},
    {"sk6812rgbw-800k-rev07", 350, 640, 900, 610}, {"apa106-580k", 350, 1360, 1360, 350},
    {"pl9823-580k", 350, 1360, 1360, 350},         {"ucs1903-800k", 250, 1000, 1000, 250},
    {"tm1803-400k", 680, 1360, 1360, 680},         {"tm1804-800k", 400, 850, 850, 400},
    {"tm1809-800k", 320, 600, 600, 320},           {"gs8208b-800k", 300, 900, 900, 300},
    {"sm16703p-800k-v1.3", 300, 900, 900, 300},    {"tm1814-800k-inverted", 360, 720, 890, 530},
    {"tm1829-800k-inverted", 300, 800, 900, 400},
};

importers::Capture capture_of(const Nominal& chip, double t0h, double t1h, const std::vector<bool>& bits, double gap_s,
                              std::size_t frames) {
  const auto& windows = *find_windows(chip.id, {});
  const auto signal = waveforms::bit_train({.bits = bits,
                                            .t0h_s = t0h * 1e-9,
                                            .t0l_s = (chip.t0h + chip.t0l - t0h) * 1e-9,
                                            .t1h_s = t1h * 1e-9,
                                            .t1l_s = (chip.t1h + chip.t1l - t1h) * 1e-9,
                                            .idle_s = gap_s + 60e-6,
                                            .frames = frames,
                                            .latch_gap_s = gap_s,
                                            .low_v = windows.inverted ? chip.high_v : 0,
                                            .high_v = windows.inverted ? 0 : chip.high_v},
                                           waveforms::gaussian(3e-9));
  return waveforms::sample(signal,
                           {.sample_interval_s = 3.97e-9, .noise_rms_v = 0.02, .range_low_v = -2, .range_high_v = 8})
      .capture();
}

// Widths and frames only: what the limits of the high times and of the pause need.
struct Widths {
  PulseSummary pulses;
  FrameSummary frames;
  IntervalError interval;
};

Widths widths_of(const Nominal& chip, const importers::Capture& capture) {
  const auto& windows = *find_windows(chip.id, {});
  Node node = open_node(capture, 0, {});
  find_edges(node, windows.levels.vil_v(5), windows.levels.vih_v(5));
  measure_edges(node, {});
  auto pulses = extract_pulses(node.transitions, windows.inverted);
  classify(pulses, width_shape(pulses), windows);
  const auto cutting = cut_frames(pulses, windows, node.start_s(), node.end_s(), node.interval.width.single_s);
  return {summarize_pulses(pulses, cutting, windows, node.interval), summarize_frames(pulses, cutting, windows),
          node.interval};
}

Outcome answer(const Diagnosis& diagnosis, const char* check) {
  const auto* found = find_check(diagnosis.checks, check);
  return found ? found->result : Outcome::cannot_tell;
}

std::string hex_of(const std::vector<bool>& bits) {
  std::string hex;
  for (std::size_t i = 0; i + 4 <= bits.size(); i += 4) {
    hex += "0123456789abcdef"[8 * bits[i] + 4 * bits[i + 1] + 2 * bits[i + 2] + bits[i + 3]];
  }
  return hex;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(chips)

BOOST_DATA_TEST_CASE(nominal_times_decode, kChips, chip) {
  const auto& windows = *find_windows(chip.id, {});
  const auto bits = waveforms::random_bits(288, 11);
  const double gap_s = 2 * *windows.latch_gap_min_s + 60e-6;
  const auto found = widths_of(chip, capture_of(chip, chip.t0h, chip.t1h, bits, gap_s, 2));
  BOOST_TEST_REQUIRE(found.frames.count == 2u);
  for (const auto& frame : found.frames.frames) BOOST_TEST(frame.hex == hex_of(bits));
  BOOST_TEST(found.frames.differing_bits == 0u);
  BOOST_TEST(found.frames.frames[0].leftover_bits == 0u);
  BOOST_TEST((judge_widths(found.pulses.zero.high_width, windows.t0h, found.interval).result == Outcome::pass));
  BOOST_TEST((judge_widths(found.pulses.one.high_width, windows.t1h, found.interval).result == Outcome::pass));
  BOOST_TEST(std::abs(*found.pulses.zero.high_width.mean_s - chip.t0h * 1e-9) < 0.5e-9);
  BOOST_TEST(std::abs(*found.pulses.one.high_width.mean_s - chip.t1h * 1e-9) < 0.5e-9);
}

// The whole way for one chip of each kind: slow, fast, own input levels, four colours, idle high.
BOOST_DATA_TEST_CASE(nominal_times_pass, boost::unit_test::data::make({0, 3, 5, 8, 12, 21}), index) {
  const auto& chip = kChips[index];
  const double gap_s = 2 * *find_windows(chip.id, {})->latch_gap_min_s + 60e-6;
  const auto diagnosis =
      diagnose(capture_of(chip, chip.t0h, chip.t1h, waveforms::random_bits(96, 11), gap_s, 2), {.protocol = chip.id});
  BOOST_TEST((answer(diagnosis, "t0h") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "t1h") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "latch-gap") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "whole-pixels") == Outcome::pass));
  BOOST_TEST((diagnosis.verdict.result == Outcome::pass), chip.id << ": " << diagnosis.verdict.headline);
}

// Each printed high-time limit: 12 ns beyond fails, 12 ns within does not fail, on the limit is marginal.
BOOST_DATA_TEST_CASE(each_limit_is_held, kChips, chip) {
  const auto& windows = *find_windows(chip.id, {});
  const auto hold = [&](const std::optional<double>& limit_s, double inwards, bool zero) {
    if (!limit_s) return;
    const auto at = [&](double beyond_ns) {
      const double width = *limit_s * 1e9 - inwards * beyond_ns;
      const auto bits = waveforms::random_bits(96, 11);
      const auto found =
          widths_of(chip, capture_of(chip, zero ? width : chip.t0h, zero ? chip.t1h : width, bits, 400e-6, 1));
      return judge_widths((zero ? found.pulses.zero : found.pulses.one).high_width, zero ? windows.t0h : windows.t1h,
                          found.interval)
          .result;
    };
    const char* name = zero ? "t0h" : "t1h";
    BOOST_TEST((at(12) == Outcome::fail), chip.id << " " << name << " beyond " << *limit_s * 1e9);
    BOOST_TEST((at(-12) != Outcome::fail), chip.id << " " << name << " within " << *limit_s * 1e9);
    BOOST_TEST((at(0) == Outcome::marginal), chip.id << " " << name << " on " << *limit_s * 1e9);
  };
  hold(windows.t0h.min_s, 1, true);
  if (*windows.t0h.max_s + 100e-9 < chip.t1h * 1e-9) hold(windows.t0h.max_s, -1, true);
  if (*windows.t1h.min_s - 100e-9 > chip.t0h * 1e-9) hold(windows.t1h.min_s, 1, false);
  if (windows.t1h.max_s && *windows.t1h.max_s * 1e9 + 60 < chip.t1h + chip.t1l) hold(windows.t1h.max_s, -1, false);
}

BOOST_DATA_TEST_CASE(a_pause_below_the_reset_time_fails, kChips, chip) {
  const auto& windows = *find_windows(chip.id, {});
  const auto gap_of = [&](double ratio) {
    const auto bits = waveforms::random_bits(288, 5);
    const double wanted_s = ratio * *windows.latch_gap_min_s;
    return widths_of(chip, capture_of(chip, chip.t0h, chip.t1h, bits, wanted_s, 4)).pulses.latch_gap_min_s;
  };
  const auto limit = windows.latch_gap_min_s;
  BOOST_TEST((decide(gap_of(0.8), limit, {}) == Outcome::fail), chip.id);
  BOOST_TEST((decide(gap_of(1.2), limit, {}) == Outcome::pass), chip.id);
}

BOOST_AUTO_TEST_SUITE_END()
