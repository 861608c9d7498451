#include "analyzer/protocol/classify.hpp"

#include <boost/test/unit_test.hpp>
#include <random>

#include "analyzer/protocol/frames.hpp"
#include "analyzer/protocol/pulse_statistics.hpp"
#include "tests/support/edges.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

BOOST_TEST_DONT_PRINT_LOG_VALUE(IdleState)

namespace {

std::vector<BitPulse> pulses_at(const edges::BitTimes& times,
                                const std::vector<bool>& bits = waveforms::random_bits(240, 7)) {
  std::vector<Transition> transitions;
  edges::append_bits(transitions, 100e-6, bits, times);
  return extract_pulses(transitions, false);
}

std::string inferred(const edges::BitTimes& times) {
  return infer_protocol(width_shape(pulses_at(times)), false).windows.id;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(classify)

BOOST_AUTO_TEST_CASE(widths_lie_between_the_crossings_of_both_thresholds, *boost::unit_test::tolerance(1e-4)) {
  const auto pulses = pulses_at({}, {false, true});
  BOOST_TEST_REQUIRE(pulses.size() == 2u);
  BOOST_TEST(pulses[0].width_s == 400e-9f);
  BOOST_TEST(pulses[0].at_vil_s == 404e-9f);
  BOOST_TEST(pulses[0].at_vih_s == 396e-9f);
  BOOST_TEST(pulses[0].pause_s == 850e-9f);
  BOOST_TEST(std::isnan(pulses[1].pause_s));
}

BOOST_AUTO_TEST_CASE(a_pulse_cut_by_the_record_is_left_out) {
  std::vector<Transition> transitions;
  edges::append_bits(transitions, 0, {true, false, true});
  transitions.pop_back();
  transitions.erase(transitions.begin());
  BOOST_TEST(extract_pulses(transitions, false).size() == 1u);
  BOOST_TEST(extract_pulses(transitions, true).size() == 2u);
  BOOST_TEST(extract_pulses({}, false).empty());
}

BOOST_AUTO_TEST_CASE(bits_come_back) {
  const auto bits = waveforms::random_bits(480, 3);
  auto pulses = pulses_at({}, bits);
  analyzer::classify(pulses, width_shape(pulses), *find_windows("WS2812B", {}));
  BOOST_TEST_REQUIRE(pulses.size() == bits.size());
  for (std::size_t i = 0; i < bits.size(); ++i) BOOST_TEST((pulses[i].one == bits[i] && !pulses[i].undecided));
}

BOOST_AUTO_TEST_CASE(one_class_alone_is_judged_by_the_windows) {
  for (const bool one : {false, true}) {
    auto pulses = pulses_at({}, std::vector<bool>(48, one));
    analyzer::classify(pulses, width_shape(pulses), *find_windows("WS2812B", {}));
    for (const auto& pulse : pulses) BOOST_TEST((pulse.one == one && !pulse.undecided));
  }
}

BOOST_AUTO_TEST_CASE(a_stray_pulse_and_one_between_the_classes_are_undecided) {
  auto pulses = pulses_at({}, waveforms::random_bits(240, 5));
  pulses[10].width_s = 600e-9f;
  pulses[20].width_s = 40e-9f;
  pulses[30].width_s = 9e-6f;
  analyzer::classify(pulses, width_shape(pulses), *find_windows("WS2812B", {}));
  for (std::size_t i = 0; i < pulses.size(); ++i)
    BOOST_TEST(pulses[i].undecided == (i == 10 || i == 20 || i == 30), "pulse " << i);
}

// Periods of the data sheets: 1250 ns WS2812B (PDF of 2013-05-30), 2500 ns WS2811 (PDF of 2011-09-15), 1710 ns PL9823 (one-page sheet),
// 890 ns SK6812 White (PDF of 2024-03-27); UCS1903 at 400 kbit/s from firmware constants, second-hand.
BOOST_AUTO_TEST_CASE(speed_and_widths_give_the_family) {
  BOOST_TEST(inferred({}) == "ws2812b-800k-union");
  BOOST_TEST(inferred({350e-9, 900e-9, 900e-9, 350e-9}) == "ws2812b-800k-union");
  BOOST_TEST(inferred({500e-9, 2000e-9, 1200e-9, 1300e-9}) == "ws2811-400k-2011");
  BOOST_TEST(inferred({500e-9, 2000e-9, 2000e-9, 500e-9}) == "ucs1903-400k");
  BOOST_TEST(inferred({295e-9, 595e-9, 595e-9, 295e-9}) == "sk6812-white-800k-2024");
  const auto slow = inferred({350e-9, 1360e-9, 1360e-9, 350e-9});
  BOOST_TEST((slow == "pl9823-580k" || slow == "apa106-580k"), slow);
}

BOOST_AUTO_TEST_CASE(serial_text_is_no_pixel_data) {
  // 115,200 baud, 8N1 (start bit low, least significant bit first, stop bit high: common practice, no source): bit time 1 / 115200 s = 8.68 us.
  std::vector<Transition> transitions;
  bool level = true;
  std::size_t place = 0;
  for (const auto byte_seed : {1u, 2u, 3u, 4u, 5u, 6u, 7u, 8u, 9u, 10u, 11u, 12u}) {
    auto bits = waveforms::random_bits(8, byte_seed);
    bits.insert(bits.begin(), false);
    bits.push_back(true);
    for (const bool bit : bits) {
      if (bit != level) {
        Transition edge;
        edge.mid_s = 8.68e-6 * static_cast<double>(place);
        edge.rising = bit;
        transitions.push_back(edge);
      }
      level = bit;
      ++place;
    }
  }
  const auto guess = infer_protocol(width_shape(extract_pulses(transitions, false)), false);
  BOOST_TEST(!guess.is_pixel_data);
  BOOST_TEST(!guess.why.empty());
}

BOOST_AUTO_TEST_CASE(too_few_pulses_are_not_guessed) {
  BOOST_TEST(!infer_protocol(width_shape(pulses_at({}, {true, false})), false).is_pixel_data);
  BOOST_TEST(!infer_protocol(width_shape({}), false).is_pixel_data);
}

BOOST_AUTO_TEST_CASE(the_long_rest_tells_the_idle_state) {
  std::vector<Transition> low, high;
  edges::append_bits(low, 50e-6, waveforms::random_bits(48, 1));
  edges::append_bits(high, 50e-6, waveforms::random_bits(48, 1), {}, true);
  BOOST_TEST(idle_state(low, 0, 200e-6) == IdleState::low);
  BOOST_TEST(idle_state(high, 0, 200e-6) == IdleState::high);
  BOOST_TEST(idle_state({}, 0, 1) == IdleState::unknown);
}

BOOST_AUTO_TEST_CASE(without_a_rest_the_steady_edge_tells_it) {
  std::vector<Transition> low, high;
  const double end_low = edges::append_bits(low, 0.5e-6, waveforms::random_bits(96, 2));
  const double end_high = edges::append_bits(high, 0.5e-6, waveforms::random_bits(96, 2), {}, true);
  BOOST_TEST(idle_state(low, 0, end_low) == IdleState::low);
  BOOST_TEST(idle_state(high, 0, end_high) == IdleState::high);
}

// WS2811 data sheet, PDF of 2011-09-15: T0H 250 ns and T1H 600 ns at 800 kbit/s; WS2812B as in the sheets of 2013-05 and later.
BOOST_AUTO_TEST_CASE(another_chip_that_fits_is_found) {
  const auto shape = width_shape(pulses_at({250e-9, 1000e-9, 600e-9, 650e-9}));
  BOOST_TEST(!high_times_fit(shape, *find_windows("WS2812B", {}), 0));
  BOOST_TEST_REQUIRE(fitting_windows(shape, false, 0) != nullptr);
  BOOST_TEST(fitting_windows(shape, false, 0)->id == "ws2811-800k-2011-tol75");
}

BOOST_AUTO_TEST_SUITE_END()
