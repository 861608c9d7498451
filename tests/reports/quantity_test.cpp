// Prefixes and spacing after the SI Brochure, 9th edition, sections 3 and 5.4; rounding of value and uncertainty to the
// same decimals after JCGM 100:2008, 7.2.6.

#include "reports/quantity.hpp"

#include <boost/test/unit_test.hpp>

using namespace pulsewright;
using analyzer::Measured;

BOOST_AUTO_TEST_SUITE(quantity)

BOOST_AUTO_TEST_CASE(prefix_follows_the_leading_digit) {
  BOOST_TEST(reports::quantity(412e-9, "s") == "412 ns");
  BOOST_TEST(reports::quantity(1.25e-6, "s") == "1.25 µs");
  BOOST_TEST(reports::quantity(999.6e-9, "s") == "1 µs");
  BOOST_TEST(reports::quantity(4700, "ohm") == "4.7 kΩ");
  BOOST_TEST(reports::quantity(8e5, "Hz") == "800 kHz");
  BOOST_TEST(reports::quantity(15e-12, "F") == "15 pF");
  BOOST_TEST(reports::quantity(0, "V") == "0 V");
}

BOOST_AUTO_TEST_CASE(minus_is_the_minus_sign) { BOOST_TEST(reports::quantity(-0.4, "V") == "−400 mV"); }

BOOST_AUTO_TEST_CASE(plain_numbers_and_large_metres_take_no_prefix) {
  BOOST_TEST(reports::quantity(1234, "1", 4) == "1234");
  BOOST_TEST(reports::quantity(1800, "m") == "1800 m");
  BOOST_TEST(reports::quantity(0.0042, "m") == "4.2 mm");
  BOOST_TEST(reports::quantity(-0.35, "dB") == "−0.35 dB");
}

BOOST_AUTO_TEST_CASE(ratios_are_shown_in_percent) {
  BOOST_TEST(reports::percent(0.127) == "13 %");
  BOOST_TEST(reports::quantity(Measured::of(0.127, 0.004), "ratio") == "12.7 % ± 0.8 %");
}

BOOST_AUTO_TEST_CASE(uncertainty_is_expanded_and_sets_the_decimals) {
  BOOST_TEST(reports::quantity(Measured::of(412e-9, 3e-9), "s") == "412 ns ± 6 ns");
  BOOST_TEST(reports::quantity(Measured::of(4.7213, 0.06), "V") == "4.72 V ± 0.12 V");
  BOOST_TEST(reports::quantity(Measured::of(98.3, 7.4), "ohm") == "98 Ω ± 15 Ω");
  BOOST_TEST(reports::quantity(Measured::of(981, 74), "ohm") == "980 Ω ± 150 Ω");
  BOOST_TEST(reports::quantity(Measured::of(0.996, 0.2), "V") == "1.0 V ± 0.4 V");
  BOOST_TEST(reports::quantity(Measured::of(0.6, 0.499), "V") == "0.6 V ± 1.0 V");
  BOOST_TEST(reports::quantity(Measured::of(3.3), "V") == "3.3 V");
  BOOST_TEST(reports::quantity(Measured::of(0.04, 2e-10), "V") == "40 mV");
}

BOOST_AUTO_TEST_CASE(what_cannot_be_negative_is_bounded_from_above) {
  BOOST_TEST(reports::never_negative(Measured::of(10e-9, 20e-9), "s") == "at most 50 ns");
  BOOST_TEST(reports::never_negative(Measured::of(-0.001, 0.01), "ratio") == "at most 2 %");
  BOOST_TEST(reports::never_negative(Measured::of(16e-9, 2e-9), "s") == "16 ns ± 4 ns");
  BOOST_TEST(reports::never_negative(Measured::none("no edge"), "s") == "no edge");
}

BOOST_AUTO_TEST_CASE(missing_figure_shows_its_reason) {
  BOOST_TEST(reports::quantity(Measured::none("the capture is logic levels"), "V") == "the capture is logic levels");
}

BOOST_AUTO_TEST_CASE(key_tells_words_and_unit) {
  BOOST_TEST(reports::meaning_of("overshoot_ratio").words == "overshoot");
  BOOST_TEST(reports::meaning_of("overshoot_ratio").unit == "ratio");
  BOOST_TEST(reports::meaning_of("high_plateau_min_v").words == "lowest settled high");
  BOOST_TEST(reports::meaning_of("frames").unit == "1");
  BOOST_TEST(reports::quantity(*Measured::of(2.4e8), reports::meaning_of("slew_v_per_s").unit) == "240 MV/s");
}

BOOST_AUTO_TEST_SUITE_END()
