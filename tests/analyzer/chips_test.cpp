// Chips decoded from waveforms written to the nominal times of their data sheets, and pushed over each limit.

#include <boost/test/data/test_case.hpp>
#include <boost/test/unit_test.hpp>

#include "analyzer/diagnose.hpp"
#include "analyzer/verdict/checks.hpp"
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

Diagnosis diagnosis_of(const Nominal& chip, double t0h, double t1h,
                       std::vector<bool> bits = waveforms::random_bits(96, 11)) {
  const auto& windows = *find_windows(chip.id, {});
  const double gap_s = 2 * windows.latch_gap_min_s.value_or(300e-6) + 60e-6;
  const auto signal = waveforms::bit_train({.bits = std::move(bits),
                                            .t0h_s = t0h * 1e-9,
                                            .t0l_s = (chip.t0h + chip.t0l - t0h) * 1e-9,
                                            .t1h_s = t1h * 1e-9,
                                            .t1l_s = (chip.t1h + chip.t1l - t1h) * 1e-9,
                                            .idle_s = gap_s,
                                            .frames = 2,
                                            .latch_gap_s = gap_s,
                                            .low_v = windows.inverted ? chip.high_v : 0,
                                            .high_v = windows.inverted ? 0 : chip.high_v},
                                           waveforms::gaussian(3e-9));
  const auto record = waveforms::sample(
      signal, {.sample_interval_s = 3.97e-9, .noise_rms_v = 0.02, .range_low_v = -2, .range_high_v = 8});
  return diagnose(record.capture(), {.protocol = chip.id});
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

BOOST_DATA_TEST_CASE(nominal_times_decode_and_pass, kChips, chip) {
  const auto bits = waveforms::random_bits(288, 11);
  const auto diagnosis = diagnosis_of(chip, chip.t0h, chip.t1h, bits);
  BOOST_TEST_REQUIRE(diagnosis.frames.count == 2u);
  for (const auto& frame : diagnosis.frames.frames) BOOST_TEST(frame.hex == hex_of(bits));
  BOOST_TEST(diagnosis.frames.differing_bits == 0u);
  BOOST_TEST((answer(diagnosis, "t0h") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "t1h") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "latch-gap") == Outcome::pass));
  BOOST_TEST((answer(diagnosis, "whole-pixels") == Outcome::pass));
  BOOST_TEST((diagnosis.verdict.result == Outcome::pass), diagnosis.verdict.headline);
  BOOST_TEST(std::abs(*diagnosis.pulses.zero.high_width.mean_s - chip.t0h * 1e-9) < 1.5e-9);
  BOOST_TEST(std::abs(*diagnosis.pulses.one.high_width.mean_s - chip.t1h * 1e-9) < 1.5e-9);
}

// Each printed high-time limit: 12 ns beyond fails, 12 ns within does not fail, on the limit is marginal.
BOOST_DATA_TEST_CASE(each_limit_is_held, kChips, chip) {
  const auto& windows = *find_windows(chip.id, {});
  const auto hold = [&](const std::optional<double>& limit_s, double inwards, bool zero) {
    if (!limit_s) return;
    const auto at = [&](double beyond_ns) {
      const double width = *limit_s * 1e9 - inwards * beyond_ns;
      return answer(zero ? diagnosis_of(chip, width, chip.t1h) : diagnosis_of(chip, chip.t0h, width),
                    zero ? "t0h" : "t1h");
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
  const double gap_s = 0.8 * *windows.latch_gap_min_s;
  const auto bits = waveforms::random_bits(288, 5);
  const auto signal = waveforms::bit_train({.bits = bits,
                                            .t0h_s = chip.t0h * 1e-9,
                                            .t0l_s = chip.t0l * 1e-9,
                                            .t1h_s = chip.t1h * 1e-9,
                                            .t1l_s = chip.t1l * 1e-9,
                                            .idle_s = 400e-6,
                                            .frames = 4,
                                            .latch_gap_s = gap_s,
                                            .low_v = windows.inverted ? 5.0 : 0,
                                            .high_v = windows.inverted ? 0.0 : 5},
                                           waveforms::gaussian(3e-9));
  const auto record = waveforms::sample(signal, {.sample_interval_s = 7.93e-9, .noise_rms_v = 0.02});
  const auto diagnosis = diagnose(record.capture(), {.protocol = chip.id});
  BOOST_TEST((answer(diagnosis, "latch-gap") == Outcome::fail), chip.id);
}

BOOST_AUTO_TEST_SUITE_END()
