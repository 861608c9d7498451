#include "analyzer/verdict/decision.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>

using namespace pulsewright::analyzer;

BOOST_TEST_DONT_PRINT_LOG_VALUE(Outcome)

BOOST_AUTO_TEST_SUITE(decision)

// Pixel example worked by hand after ILAC-G8:09/2019 section 4.2 (guard band w = U): minimum 580 ns (T1H, WS2812B-V5/W data sheet
// V6.1), reading 600 ns. Logic sampling at 100 MHz: u = Ts / sqrt(6) = 4.08 ns (JCGM 100:2008, 4.3.9: from memory), acceptance limit 588.2 ns; at 24 MHz: u = 17.0 ns.
BOOST_AUTO_TEST_CASE(ilac_g8_guard_band_on_a_minimum) {
  const double u_100_mhz = 10e-9 / std::sqrt(6.0), u_24_mhz = 1 / 24e6 / std::sqrt(6.0);
  BOOST_TEST(decide(Measured::of(600e-9, u_100_mhz), 580e-9, {}) == Outcome::pass);
  BOOST_TEST(decide(Measured::of(588.1e-9, u_100_mhz), 580e-9, {}) == Outcome::marginal);
  BOOST_TEST(decide(Measured::of(588.3e-9, u_100_mhz), 580e-9, {}) == Outcome::pass);
  BOOST_TEST(decide(Measured::of(600e-9, u_24_mhz), 580e-9, {}) == Outcome::marginal);
  BOOST_TEST(decide(Measured::of(571e-9, u_100_mhz), 580e-9, {}) == Outcome::fail);
}

// JCGM 106:2012 clause 7.3.3, breakdown voltage of a Zener diode: upper limit -5.40 V, estimate -5.47 V, u = 0.05 V,
// 0.92 (inputs and result from memory; 0.9192433: scipy.stats.norm.cdf(1.4)).
BOOST_AUTO_TEST_CASE(jcgm_106_one_sided_conformance_probability) {
  BOOST_TEST(conformance_probability(-5.47, 0.05, {}, -5.40) == 0.92, boost::test_tools::tolerance(0.002));
  BOOST_TEST(conformance_probability(-5.47, 0.05, {}, -5.40) == 0.9192433, boost::test_tools::tolerance(1e-6));
}

// JCGM 106:2012 clause 7.4 example with both limits: 12.5 and 16.3, estimate 13.6, u = 1.8: 0.66 (from memory; 0.6626 by the
// normal distribution, computed).
BOOST_AUTO_TEST_CASE(jcgm_106_two_sided_conformance_probability) {
  BOOST_TEST(conformance_probability(13.6, 1.8, 12.5, 16.3) == 0.6626, boost::test_tools::tolerance(2e-4));
}

// ILAC-G8:09/2019: with w = U a reading on the acceptance limit is false at most 2.28 % of the time, with w = 0 half of
// it (normal distribution, computed).
BOOST_AUTO_TEST_CASE(false_acceptance_on_the_acceptance_limit) {
  const double u = 0.1, limit = 3.5;
  BOOST_TEST(1 - conformance_probability(limit + 2 * u, u, limit, {}) == 0.02275, boost::test_tools::tolerance(1e-3));
  BOOST_TEST(1 - conformance_probability(limit, u, limit, {}) == 0.5, boost::test_tools::tolerance(1e-12));
}

// Logic sampling at 24 MHz against T1H at least 580 ns, reading 600 ns: 0.880 (normal distribution, computed).
BOOST_AUTO_TEST_CASE(conformance_probability_of_a_logic_reading) {
  BOOST_TEST(conformance_probability(600e-9, 1 / 24e6 / std::sqrt(6.0), 580e-9, {}) == 0.880,
             boost::test_tools::tolerance(1e-3));
}

// Three answers with guard bands w = U on both sides of a limit: ILAC-G8:09/2019 section 4.2.
BOOST_AUTO_TEST_CASE(two_limits_and_the_bands_between) {
  const auto at = [](double value) { return decide(Measured::of(value, 0.5), 10, 20); };
  BOOST_TEST(at(15) == Outcome::pass);
  BOOST_TEST(at(11) == Outcome::pass);
  BOOST_TEST(at(10.9) == Outcome::marginal);
  BOOST_TEST(at(9.1) == Outcome::marginal);
  BOOST_TEST(at(8.9) == Outcome::fail);
  BOOST_TEST(at(19.1) == Outcome::marginal);
  BOOST_TEST(at(21.1) == Outcome::fail);
}

BOOST_AUTO_TEST_CASE(an_uncertainty_that_fills_the_window_cannot_tell) {
  BOOST_TEST(decide(Measured::of(15, 2.5), 10, 20) == Outcome::cannot_tell);
  BOOST_TEST(decide(Measured::of(15, 2.4), 10, 20) == Outcome::pass);
  BOOST_TEST(decide(Measured::of(26, 2.5), 10, 20) == Outcome::fail);
}

BOOST_AUTO_TEST_CASE(no_value_or_no_limit_cannot_tell) {
  BOOST_TEST(decide(Measured::none("not seen"), 1, 2) == Outcome::cannot_tell);
  BOOST_TEST(decide(Measured::of(1, 0.1), {}, {}) == Outcome::cannot_tell);
}

BOOST_AUTO_TEST_CASE(without_an_uncertainty_it_is_simple_acceptance) {
  BOOST_TEST(decide(Measured::of(0), {}, 0) == Outcome::pass);
  BOOST_TEST(decide(Measured::of(1), {}, 0) == Outcome::fail);
}

BOOST_AUTO_TEST_CASE(a_fail_outweighs_everything) {
  BOOST_TEST(worse(Outcome::pass, Outcome::fail) == Outcome::fail);
  BOOST_TEST(worse(Outcome::marginal, Outcome::cannot_tell) == Outcome::marginal);
  BOOST_TEST(worse(Outcome::cannot_tell, Outcome::pass) == Outcome::cannot_tell);
}

BOOST_AUTO_TEST_SUITE_END()
