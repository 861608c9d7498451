#include "analyzer/protocol/pulse_statistics.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <random>

#include "tests/support/edges.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

const IntervalError kError{.width = {.single_s = 2e-9, .common_ratio = 50e-6 / std::sqrt(3.0), .common_s = 0.1e-9},
                           .grid_s = 0};

// Widths as `width_of(index, bit, previous bit)` gives them, one frame of random bits after another.
template <class WidthOf>
PulseSummary summary_of(WidthOf width_of, std::size_t frames = 4, std::size_t bits_a_frame = 96) {
  std::vector<Transition> edges;
  double t_s = 400e-6;
  for (std::size_t frame = 0; frame < frames; ++frame) {
    const auto bits = waveforms::random_bits(bits_a_frame, static_cast<unsigned>(frame + 1));
    for (std::size_t i = 0; i < bits.size(); ++i) {
      const double width_s = width_of(i, bits[i], i > 0 && bits[i - 1]);
      edges::append_bits(edges, t_s, {bits[i]}, {width_s, 0, width_s, 0});
      t_s += 1.25e-6;
    }
    t_s += 300e-6;
  }
  const auto& windows = *find_windows("WS2812B", {});
  auto pulses = extract_pulses(edges, false);
  classify(pulses, width_shape(pulses), windows);
  const auto cutting = cut_frames(pulses, windows, 0, t_s, 2e-9);
  return summarize_pulses(pulses, cutting, windows, kError);
}

}  // namespace

BOOST_AUTO_TEST_SUITE(pulse_statistics)

BOOST_AUTO_TEST_CASE(means_extremes_and_both_thresholds, *boost::unit_test::tolerance(1e-4)) {
  const auto found =
      summary_of([](std::size_t i, bool bit, bool) { return (bit ? 800e-9 : 400e-9) + (i % 2 ? 10e-9 : -10e-9); });
  BOOST_TEST(found.zero.count + found.one.count == 384u);
  BOOST_TEST(*found.zero.high_width.min_s == 390e-9);
  BOOST_TEST(*found.zero.high_width.max_s == 410e-9);
  BOOST_TEST(*found.zero.high_width.at_vil_max_s == 414e-9);
  BOOST_TEST(*found.one.high_width.at_vih_min_s == 786e-9);
  BOOST_TEST(std::abs(*found.one.high_width.mean_s - 800e-9) < 2e-9);
  BOOST_TEST(std::abs(*found.one.high_width.sd_s - 10e-9) < 0.2e-9);
  BOOST_TEST(*found.period.mean_s == 1250e-9);
  BOOST_TEST(found.out_of_window == 0u);
  BOOST_TEST(found.undecided == 0u);
  std::size_t counted = 0;
  for (const auto count : found.one.high_width.histogram.counts) counted += count;
  BOOST_TEST(counted == found.one.count);
}

BOOST_AUTO_TEST_CASE(dependence_on_the_previous_bit_is_found) {
  const auto found =
      summary_of([](std::size_t, bool bit, bool previous) { return (bit ? 800e-9 : 400e-9) + (previous ? 0 : 12e-9); });
  BOOST_TEST_REQUIRE(found.high_after_long_low_shift_s.value.has_value());
  BOOST_TEST(std::abs(*found.high_after_long_low_shift_s - 12e-9) < 0.5e-9);
  BOOST_TEST(found.high_after_long_low_shift_s.u < 1e-9);
}

BOOST_AUTO_TEST_CASE(no_dependence_is_within_its_uncertainty) {
  std::mt19937 generator(5);
  std::normal_distribution<double> noise(0, 2e-9);
  const auto found =
      summary_of([&](std::size_t, bool bit, bool) { return (bit ? 800e-9 : 400e-9) + noise(generator); });
  BOOST_TEST(std::abs(*found.high_after_long_low_shift_s) < 3 * found.high_after_long_low_shift_s.u);
  BOOST_TEST(std::abs(*found.first_after_idle_shift_s) < 3 * found.first_after_idle_shift_s.u);
  BOOST_TEST(std::abs(*found.width_drift_s) < 3 * found.width_drift_s.u);
}

BOOST_AUTO_TEST_CASE(first_after_idle_and_drift_along_the_frame) {
  const auto first =
      summary_of([](std::size_t i, bool bit, bool) { return (bit ? 800e-9 : 400e-9) + (i == 0 ? 25e-9 : 0); });
  BOOST_TEST(std::abs(*first.first_after_idle_shift_s - 25e-9) < 1e-9);
  const auto drifting = summary_of(
      [](std::size_t i, bool bit, bool) { return (bit ? 800e-9 : 400e-9) - 0.5e-9 * static_cast<double>(i); });
  BOOST_TEST(std::abs(*drifting.width_drift_s + 36e-9) < 1.5e-9);
}

BOOST_AUTO_TEST_CASE(pulses_outside_their_window_are_counted) {
  std::size_t narrow = 0;
  const auto found = summary_of(
      [&](std::size_t i, bool bit, bool) {
        if (bit || i >= 20) return bit ? 800e-9 : 400e-9;
        ++narrow;
        return 215e-9;
      },
      1);
  BOOST_TEST(narrow > 3u);
  BOOST_TEST(found.out_of_window == narrow);
}

BOOST_AUTO_TEST_CASE(an_absent_class_says_so) {
  const auto found = summary_of([](std::size_t, bool, bool) { return 400e-9; });
  BOOST_TEST(found.one.count == 0u);
  BOOST_TEST(!found.one.high_width.mean_s);
  BOOST_TEST(!found.one.high_width.mean_s.missing.empty());
  BOOST_TEST(!found.high_after_long_low_shift_s);
}

// A reading that always falls on one grid step cannot average: the clock may be locked to the data.
BOOST_AUTO_TEST_CASE(locked_logic_readings_do_not_average) {
  const IntervalError logic{.width = {.single_s = 17e-9, .common_ratio = 0, .common_s = 0}, .grid_s = 41.67e-9};
  BOOST_TEST(logic.of_mean_s(800e-9, 0, 1000) == 17e-9, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(logic.of_mean_s(800e-9, 20e-9, 1000) < 1e-9);
  BOOST_TEST(logic.of_one_s(800e-9) == 17e-9, boost::test_tools::tolerance(1e-9));
}

BOOST_AUTO_TEST_SUITE_END()
