#include "analyzer/line/echo_removal.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>

#include "tests/support/line_capture.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

struct Recorded {
  waveforms::Signal signal;
  tests::LineCapture capture;
};

// Seen through a scope of 100 MS/s.
Recorded record(const tests::LineTruth& truth, std::shared_ptr<StepResponseGrid> step) {
  const waveforms::StepResponse response{[step](double t) { return step->at(t); }, step->first_s, step->end_s()};
  auto signal = waveforms::bit_train({.bits = waveforms::random_bits(truth.bits, truth.seed), .frames = truth.frames, .latch_gap_s = 60e-6}, response);
  auto capture = tests::capture_step(truth, step);
  return {std::move(signal), std::move(capture)};
}

tests::LineTruth line_with(double source_ohm, double delay_s) {
  tests::LineTruth truth;
  truth.z0_ohm = 110, truth.delay_s = delay_s, truth.driver_ohm = source_ohm, truth.bandwidth_hz = 100e6;
  return truth;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(echo_removal)

// 2 / (1 + R/Z0) of the swing arrives first, and (R - Z0) / (R + Z0) of each arrival comes back after 2 Td (open line, closed form).
BOOST_AUTO_TEST_CASE(edges_of_the_driver_are_found_where_echoes_outlast_a_bit) {
  for (const auto& [source_ohm, delay_s] : {std::pair{18.0, 87e-9}, {18.0, 130e-9}, {300.0, 154e-9}}) {
    const auto truth = line_with(source_ohm, delay_s);
    const auto [signal, capture] = record(truth, std::make_shared<StepResponseGrid>(truth.step(0, true)));
    const auto found = edges_without_echoes(capture.node());
    BOOST_TEST_CONTEXT(source_ohm << " ohm, " << delay_s << " s") {
      BOOST_TEST_REQUIRE(found.has_value());
      BOOST_TEST_REQUIRE(found->edges.size() == signal.edges_s.size());
      const double late_s = found->edges.front().mid_s - signal.edges_s.front();
      BOOST_TEST(late_s == delay_s, boost::test_tools::tolerance(0.2));
      for (std::size_t i = 0; i < signal.edges_s.size(); ++i) {
        BOOST_TEST(found->edges[i].rising == (i % 2 == 0));
        BOOST_TEST(std::abs(found->edges[i].mid_s - signal.edges_s[i] - late_s) < 4e-9);
      }
      BOOST_TEST(std::abs(found->lowest_v) < 0.1);
      BOOST_TEST(found->highest_v == 5, boost::test_tools::tolerance(0.03));
      BOOST_TEST(found->level_ratio == 1 / (1 + truth.ratio()), boost::test_tools::tolerance(0.08));
    }
  }
}

BOOST_AUTO_TEST_CASE(noise_has_no_echo_that_leaves_two_levels) {
  tests::LineTruth truth;
  truth.noise_rms_v = 1;
  auto capture = tests::capture_function(truth, [](double) { return 2.5; }, 100e-6);
  for (double t = 1e-6; t < 100e-6; t += 1e-6) capture.transitions.push_back({}), capture.transitions.back().mid_s = t;
  BOOST_TEST(!edges_without_echoes(capture.node()).has_value());
  capture.transitions.clear();
  BOOST_TEST(!edges_without_echoes(capture.node()).has_value());
}

BOOST_AUTO_TEST_SUITE_END()
