// Chips decoded from waveforms written to the nominal times of their data sheets, and pushed over each limit.

#include <boost/test/data/test_case.hpp>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <limits>

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

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

struct Limits {
  double min, max;
};

// Figures of the data sheets, written down here a second time with the edition that they are printed in: a slip in either table fails.
// ns, us, V with 5 V of supply; kNone where nothing is printed (or quoted, where no sheet was to be had).
struct Chip {
  const char* id;
  double t0h, t1h, t0l, t1l;
  Limits of_t0h, of_t1h, of_t0l, of_t1l;
  double latch_us, vih_v, vil_v;
  const char* sheet;
};

std::ostream& operator<<(std::ostream& out, const Chip& chip) {
  return out << chip.id;
}

const Chip kChips[] = {
    {"ws2811-400k-2011", 500, 1200, 2000, 1300, {350, 650}, {1050, 1350}, {1850, 2150}, {1150, 1450}, 50, 3.5, 1.5,
     "WS2811 data sheet, PDF of 2011-09-15"},
    {"ws2811-800k-2011-tol150", 250, 600, 1000, 650, {100, 400}, {450, 750}, {850, 1150}, {500, 800}, 50, 3.5, 1.5,
     "WS2811 data sheet, PDF of 2011-09-15"},
    {"ws2812-800k-2012", 350, 700, 800, 600, {200, 500}, {550, 850}, {650, 950}, {450, 750}, 50, 3.5, 1.5,
     "WS2812 data sheet, PDF of 2012-11-01"},
    {"ws2812b-800k-2013-05", 400, 800, 850, 450, {250, 550}, {650, 950}, {700, 1000}, {300, 600}, 50, 3.5, 1.5,
     "WS2812B data sheet, PDF of 2013-05-30"},
    {"ws2812b-800k-2013-10", 350, 900, 900, 350, {200, 500}, {750, 1050}, {750, 1050}, {200, 500}, 50, 3.5, 1.5,
     "WS2812B data sheet, PDF of 2013-10-31"},
    {"ws2812b-v5-800k-v6.1", 300, 790, 790, 790, {220, 380}, {580, 1000}, {580, 1000}, {580, 1000}, 280, 3.15, 0.7,
     "WS2812B-V5/W data sheet V6.1, 2022-09-08"},
    {"ws2813-800k-v1.0", 300, 1090, 1090, 320, {220, 380}, {580, 1600}, {580, 1600}, {220, 420}, 280, 3.5, 1.5,
     "WS2813 data sheet V1.0, 2017-05-23"},
    {"ws2814-800k-v1.4", 300, 790, 950, 600, {220, 380}, {580, 1000}, {580, 1000}, {580, 1000}, 280, 3.5, 1.5,
     "WS2814 data sheet V1.4, 2022-07-26"},
    {"ws2815b-800k-v2.2", 300, 710, 950, 650, {220, 380}, {580, 840}, {900, 5000}, {600, 5000}, 280, 2.7, 1.5,
     "WS2815B data sheet V2.2, 2023-03-15"},
    {"ws2818-800k-2016", 350, 1000, 900, 350, {220, 480}, {750, 2000}, {750, 2000}, {220, 480}, 300, 3.5, 1.5,
     "WS2818 data sheet, PDF of 2016-05-31"},
    {"sk6812-800k-rev01", 300, 600, 900, 600, {150, 450}, {450, 750}, {750, 1050}, {450, 750}, 80, 3.4, 1.6,
     "SK6812MINI and SK6812WWA data sheets rev 01, 2015-07"},
    {"sk6812-800k-rev06", 320, 640, 930, 610, {200, 400}, {580, 1000}, {800, 20000}, {200, 20000}, 80, 3.5, 1.5,
     "SK6812 data sheet rev 06, 2019-01-02"},
    {"sk6812rgbw-800k-rev07", 350, 640, 900, 610, {200, 400}, {580, 1000}, {800, 20000}, {200, 20000}, 80, 3.5, 1.5,
     "SK6812RGBX data sheet rev 07, 2019-01"},
    {"apa106-580k", 350, 1360, 1360, 350, {200, 500}, {1210, 1510}, {1210, 1510}, {200, 500}, 50, kNone, kNone,
     "APA106 figures quoted second-hand in a firmware document"},
    {"pl9823-580k", 350, 1360, 1360, 350, {200, 500}, {1210, 1510}, {1210, 1510}, {200, 500}, 50, kNone, kNone,
     "PL9823 one-page data sheet (image)"},
    {"ucs1903-800k", 250, 1000, 1000, 250, {100, 400}, {850, 1150}, {kNone, kNone}, {kNone, kNone}, 24, 3.5, 1.5,
     "UCS1903 data sheet, quoted second-hand in a firmware header; levels: UCS1903N data sheet VER2.0"},
    {"tm1803-400k", 680, 1360, 1360, 680, {530, 830}, {1210, 1510}, {1210, 1510}, {530, 830}, 24, 3.5, 1.5,
     "TM1803 data sheet, PDF of 2011-01-19"},
    {"tm1804-800k", 400, 850, 850, 400, {350, 450}, {700, 1000}, {kNone, kNone}, {kNone, kNone}, 10, 3.8, 1.5,
     "TM1804 data sheet, PDF of 2014-05-09"},
    {"tm1809-800k", 320, 600, 600, 320, {250, 390}, {530, 670}, {530, 670}, {250, 390}, 24, 3.5, 1.5,
     "TM1809 data sheet rev 01, PDF of 2011-02-14"},
    {"gs8208b-800k", 300, 900, 900, 300, {250, 350}, {850, 950}, {850, 950}, {250, 350}, 80, 4, 1,
     "GS8208B data sheet, PDF of 2022-09-21"},
    {"sm16703p-800k-v1.3", 300, 900, 900, 300, {200, 400}, {800, 1000}, {800, 20000}, {200, 20000}, 200, 3.5, 1.5,
     "SM16703P data sheet V1.3, PDF of 2021-03-29"},
    {"tm1814-800k-inverted", 360, 720, 890, 530, {310, 410}, {650, 1000}, {kNone, kNone}, {kNone, kNone}, 200, 3.5, 1.5,
     "TM1814 data sheet V1.0"},
    {"tm1829-800k-inverted", 300, 800, 900, 400, {150, 450}, {600, 1000}, {kNone, kNone}, {kNone, kNone}, 140, 3.5, 1.35,
     "TM1829 data sheet V1.5, PDF of 2017-04-25"},
};

struct Sent {
  std::vector<bool> bits;
  double gap_s = 400e-6;
  std::size_t frames = 1;
  double low_v = 0, high_v = 5;
};

importers::Capture capture_of(const Chip& chip, const Sent& sent) {
  const bool inverted = find_windows(chip.id, {})->inverted;
  const auto signal = waveforms::bit_train({.bits = sent.bits,
                                            .t0h_s = chip.t0h * 1e-9,
                                            .t0l_s = chip.t0l * 1e-9,
                                            .t1h_s = chip.t1h * 1e-9,
                                            .t1l_s = chip.t1l * 1e-9,
                                            .idle_s = sent.gap_s + 60e-6,
                                            .frames = sent.frames,
                                            .latch_gap_s = sent.gap_s,
                                            .low_v = inverted ? sent.high_v : sent.low_v,
                                            .high_v = inverted ? sent.low_v : sent.high_v},
                                           waveforms::gaussian(3e-9));
  return waveforms::sample(signal,
                           {.sample_interval_s = 3.97e-9, .noise_rms_v = 0.02, .range_low_v = -2, .range_high_v = 8})
      .capture();
}

// Levels, widths and frames only: what the limits need.
struct Found {
  Levels levels;
  PulseSummary pulses;
  FrameSummary frames;
  IntervalError interval;
};

Found found_in(const Chip& chip, const importers::Capture& capture) {
  const auto& windows = *find_windows(chip.id, {});
  Node node = open_node(capture, 0, {});
  find_edges(node, windows.levels.vil_v(5), windows.levels.vih_v(5));
  measure_edges(node, {});
  auto pulses = extract_pulses(node.transitions, windows.inverted);
  classify(pulses, width_shape(pulses), windows);
  const auto cutting = cut_frames(pulses, windows, node.start_s(), node.end_s(), node.interval.width.single_s);
  return {node.levels, summarize_pulses(pulses, cutting, windows, node.interval), summarize_frames(pulses, cutting, windows),
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
  BOOST_TEST(windows.source.starts_with(chip.sheet), windows.source);
  const auto bits = waveforms::random_bits(288, 11);
  const double gap_s = 2 * *windows.latch_gap_min_s + 60e-6;
  const auto found = found_in(chip, capture_of(chip, {.bits = bits, .gap_s = gap_s, .frames = 2}));
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
      diagnose(capture_of(chip, {.bits = waveforms::random_bits(96, 11), .gap_s = gap_s, .frames = 2}), {.protocol = chip.id});
  BOOST_TEST((answer(diagnosis, "t0h") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "t1h") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "latch-gap") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "whole-pixels") == Outcome::pass));
  BOOST_TEST((diagnosis.verdict.result == Outcome::pass), chip.id << ": " << diagnosis.verdict.headline);
}

// Each printed limit of a width: 12 ns beyond fails, 12 ns within does not fail, on the limit is marginal. A longest pause of many
// bits is left out: it cuts frames before it fails.
BOOST_DATA_TEST_CASE(each_limit_of_a_width_is_held, kChips, chip) {
  const auto& windows = *find_windows(chip.id, {});
  struct Kind {
    const char* name;
    double Chip::*width;
    Limits limits;
    const Window* window;
    bool one, low;
  };
  for (const auto& kind : {Kind{"t0h", &Chip::t0h, chip.of_t0h, &windows.t0h, false, false}, Kind{"t1h", &Chip::t1h, chip.of_t1h, &windows.t1h, true, false},
                           Kind{"t0l", &Chip::t0l, chip.of_t0l, &windows.t0l, false, true}, Kind{"t1l", &Chip::t1l, chip.of_t1l, &windows.t1l, true, true}}) {
    const auto at = [&](double width_ns) {
      Chip pushed = chip;
      pushed.*kind.width = width_ns;
      const auto found = found_in(chip, capture_of(pushed, {.bits = waveforms::random_bits(96, 11)}));
      const auto& pulses = kind.one ? found.pulses.one : found.pulses.zero;
      return judge_widths(kind.low ? pulses.low_width : pulses.high_width, *kind.window, found.interval).result;
    };
    const auto hold = [&](double limit_ns, double outwards) {
      const bool told_apart = kind.low || (kind.one ? limit_ns - 100 > chip.t0h : limit_ns + 100 < chip.t1h);
      if (std::isnan(limit_ns) || limit_ns > 4000 || !told_apart) return;
      BOOST_TEST((at(limit_ns + 12 * outwards) == Outcome::fail), chip.id << " " << kind.name << " beyond " << limit_ns);
      BOOST_TEST((at(limit_ns - 12 * outwards) != Outcome::fail), chip.id << " " << kind.name << " within " << limit_ns);
      BOOST_TEST((at(limit_ns) == Outcome::marginal), chip.id << " " << kind.name << " on " << limit_ns);
    };
    hold(kind.limits.min, -1);
    hold(kind.limits.max, 1);
  }
}

// Gain accuracy leaves some 0.15 V (k = 2) of a level of 3.5 V.
BOOST_DATA_TEST_CASE(each_input_level_is_held, kChips, chip) {
  if (std::isnan(chip.vih_v)) return;
  const auto& levels = find_windows(chip.id, {})->levels;
  const auto high_at = [&](double high_v) {
    const auto found = found_in(chip, capture_of(chip, {.bits = waveforms::random_bits(96, 11), .high_v = high_v}));
    return decide(found.levels.high_plateau_min_v, levels.vih_v(5), {});
  };
  const auto low_at = [&](double low_v) {
    const auto found = found_in(chip, capture_of(chip, {.bits = waveforms::random_bits(96, 11), .low_v = low_v}));
    return decide(found.levels.low_plateau_max_v, {}, levels.vil_v(5));
  };
  BOOST_TEST((high_at(chip.vih_v - 0.3) == Outcome::fail), chip.id);
  BOOST_TEST((high_at(chip.vih_v + 0.3) == Outcome::pass), chip.id);
  BOOST_TEST((low_at(chip.vil_v + 0.25) == Outcome::fail), chip.id);
  BOOST_TEST((low_at(chip.vil_v - 0.25) == Outcome::pass), chip.id);
}

BOOST_DATA_TEST_CASE(a_pause_below_the_reset_time_fails, kChips, chip) {
  const auto limit = find_windows(chip.id, {})->latch_gap_min_s;
  const auto gap_of = [&](double ratio) {
    const Sent sent{.bits = waveforms::random_bits(288, 5), .gap_s = ratio * chip.latch_us * 1e-6, .frames = 4};
    return found_in(chip, capture_of(chip, sent)).pulses.latch_gap_min_s;
  };
  BOOST_TEST((decide(gap_of(0.9), limit, {}) == Outcome::fail), chip.id);
  BOOST_TEST((decide(gap_of(1.1), limit, {}) == Outcome::pass), chip.id);
}

BOOST_AUTO_TEST_SUITE_END()
