#include "analyzer/line/preferred_values.hpp"

#include <boost/test/unit_test.hpp>
#include <string>

using namespace pulsewright::analyzer;

namespace {

std::string bands(double ohm) {
  std::string joined;
  for (const auto& band : colour_bands_5_percent(ohm)) joined += (joined.empty() ? "" : " ") + band;
  return joined;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(preferred_values)

// IEC 60063:2015
BOOST_AUTO_TEST_CASE(series_hold_12_and_24_values_a_decade) {
  const std::vector<double> e12{0, 10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82};
  const std::vector<double> e24{0, 10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};
  BOOST_TEST(pulsewright::analyzer::preferred_values(PreferredSeries::e12, 10, 99) == e12, boost::test_tools::per_element());
  BOOST_TEST(pulsewright::analyzer::preferred_values(PreferredSeries::e24, 10, 99) == e24, boost::test_tools::per_element());
  BOOST_TEST(pulsewright::analyzer::preferred_values(PreferredSeries::e24, 1, 1000).size() == 1u + 3 * 24 + 1);
}

// Nearest in the sense of the logarithm (computed): 75 -> 82, 75; 58 -> 56, 56; 83 -> 82, 82; 95 -> 100, 91; 249 -> 270, 240.
BOOST_AUTO_TEST_CASE(nearest_value_is_nearest_in_ratio) {
  using enum PreferredSeries;
  BOOST_TEST(nearest_preferred(e12, 75) == 82);
  BOOST_TEST(nearest_preferred(e24, 75) == 75);
  BOOST_TEST(nearest_preferred(e12, 58) == 56);
  BOOST_TEST(nearest_preferred(e24, 58) == 56);
  BOOST_TEST(nearest_preferred(e12, 83) == 82);
  BOOST_TEST(nearest_preferred(e24, 95) == 91);
  BOOST_TEST(nearest_preferred(e12, 95) == 100);
  BOOST_TEST(nearest_preferred(e12, 249) == 270);
  BOOST_TEST(nearest_preferred(e24, 249) == 240);
  BOOST_TEST(is_preferred(e24, 75));
  BOOST_TEST(!is_preferred(e12, 75));
  BOOST_TEST(!is_preferred(e24, 76));
  BOOST_TEST(is_preferred(e12, 4.7));
}

// IEC 60062:2016, 5 % parts
BOOST_AUTO_TEST_CASE(colour_bands_are_digit_digit_multiplier_gold) {
  BOOST_TEST(bands(33) == "orange orange black gold");
  BOOST_TEST(bands(47) == "yellow violet black gold");
  BOOST_TEST(bands(75) == "violet green black gold");
  BOOST_TEST(bands(100) == "brown black brown gold");
  BOOST_TEST(bands(220) == "red red brown gold");
  BOOST_TEST(bands(470) == "yellow violet brown gold");
  BOOST_TEST(bands(1000) == "brown black red gold");
  BOOST_TEST(bands(4.7) == "yellow violet gold gold");
  BOOST_TEST(bands(0.47) == "yellow violet silver gold");
  BOOST_TEST(bands(0) == "black");
  BOOST_TEST(bands(33.2) == "");
  BOOST_TEST(bands(-5) == "");
}

BOOST_AUTO_TEST_SUITE_END()
