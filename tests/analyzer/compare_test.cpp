// Diagnoses held against each other: significance over all figures together, direction, comparability, prediction kept.

#include "analyzer/compare.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <numbers>
#include <random>

#include "analyzer/compare/figures.hpp"

namespace {

using namespace pulsewright::analyzer;

/// A far-end diagnosis with the figures that a comparison reads; all with the same relative uncertainty.
Diagnosis diagnosis_with(double overshoot_ratio, double one_high_s, Outcome outcome) {
  Diagnosis diagnosis;
  diagnosis.settings.windows.id = "test-windows";
  diagnosis.settings.windows.t0h = {250e-9, 400e-9, 550e-9};
  diagnosis.settings.windows.t1h = {650e-9, 800e-9, 950e-9};
  diagnosis.verdict.result = outcome;
  diagnosis.levels.high_v = Measured::of(5.0, 0.02);
  diagnosis.levels.low_v = Measured::of(0.0, 0.02);
  diagnosis.levels.amplitude_v = Measured::of(5.0, 0.03);
  diagnosis.levels.high_plateau_min_v = Measured::of(4.8, 0.02);
  diagnosis.levels.low_plateau_max_v = Measured::of(0.2, 0.02);
  diagnosis.rising.count = diagnosis.falling.count = 500;
  diagnosis.rising.overshoot_ratio = Measured::of(overshoot_ratio, 0.01);
  diagnosis.rising.duration_10_90_s = Measured::of(20e-9, 1e-9);
  diagnosis.pulses.zero.count = diagnosis.pulses.one.count = 250;
  diagnosis.pulses.one.high_width.mean_s = Measured::of(one_high_s, 2e-9);
  diagnosis.pulses.zero.high_width.mean_s = Measured::of(400e-9, 2e-9);
  return diagnosis;
}

const Difference& row(const Comparison& comparison, std::string_view key) {
  for (const auto& difference : comparison.differences)
    if (difference.key == key) return difference;
  BOOST_FAIL("no row " << key);
  throw 0;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(compare)

// Sidak (1967): each of m comparisons is judged at 1 - 0.95^(1/m). Normal quantiles from standard tables:
// 1.95996 for 5 %; for m = 10 the two-sided level is 0.51162 % and the quantile 2.7995 (scipy.stats.norm.ppf).
BOOST_AUTO_TEST_CASE(coverage_factor_follows_sidak) {
  BOOST_TEST(family_coverage_factor(1) == 1.959964, boost::test_tools::tolerance(1e-6));
  BOOST_TEST(family_coverage_factor(10) == 2.799, boost::test_tools::tolerance(5e-4));
  BOOST_TEST(std::pow(1 - std::erfc(family_coverage_factor(25) / std::numbers::sqrt2), 25) == 0.95,
             boost::test_tools::tolerance(1e-9));
}

BOOST_AUTO_TEST_CASE(less_overshoot_and_a_better_verdict_is_better) {
  const auto result = pulsewright::analyzer::compare(
      {diagnosis_with(0.6, 800e-9, Outcome::fail), diagnosis_with(0.05, 800e-9, Outcome::pass)}, {"before", "after"});
  BOOST_TEST((result.result == Change::better));
  const auto& overshoot = row(result, "rising.overshoot_ratio");
  BOOST_TEST(*overshoot.change.value == -0.55, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(overshoot.change.u == std::hypot(0.01, 0.01), boost::test_tools::tolerance(1e-9));
  BOOST_TEST(overshoot.significant);
  BOOST_TEST(overshoot.better.value());
  BOOST_TEST(result.ranking.front().index == 1u);
}

BOOST_AUTO_TEST_CASE(a_pulse_that_nears_its_window_is_worse) {
  const auto result = pulsewright::analyzer::compare(
      {diagnosis_with(0.05, 800e-9, Outcome::pass), diagnosis_with(0.05, 940e-9, Outcome::marginal)}, {"before", "after"});
  BOOST_TEST((result.result == Change::worse));
  BOOST_TEST(!row(result, "pulses.one.window_margin_s").better.value());
}

BOOST_AUTO_TEST_CASE(the_same_within_uncertainty_is_no_clear_change_in_95_of_100) {
  std::mt19937 generator(20260101);
  std::normal_distribution<double> unit;
  int quiet = 0;
  for (int trial = 0; trial < 200; ++trial) {
    const auto noisy = [&] {
      auto d = diagnosis_with(0.3 + 0.01 * unit(generator), 800e-9 + 2e-9 * unit(generator), Outcome::marginal);
      d.levels.high_v = Measured::of(5.0 + 0.02 * unit(generator), 0.02);
      d.levels.low_v = Measured::of(0.02 * unit(generator), 0.02);
      d.levels.high_plateau_min_v = Measured::of(4.8 + 0.02 * unit(generator), 0.02);
      d.levels.low_plateau_max_v = Measured::of(0.2 + 0.02 * unit(generator), 0.02);
      d.rising.duration_10_90_s = Measured::of(20e-9 + 1e-9 * unit(generator), 1e-9);
      d.pulses.zero.high_width.mean_s = Measured::of(400e-9 + 2e-9 * unit(generator), 2e-9);
      return d;
    };
    quiet += pulsewright::analyzer::compare({noisy(), noisy()}, {"a", "b"}).result == Change::no_clear_change;
  }
  BOOST_TEST(quiet >= 190);
}

BOOST_AUTO_TEST_CASE(other_node_protocol_or_probe_is_not_comparable_and_says_which) {
  const auto before = diagnosis_with(0.3, 800e-9, Outcome::pass);
  auto after = before;
  after.settings.at = ProbePosition::near;
  after.settings.probe_factor = 1;
  after.settings.windows.id = "other";
  const auto result = pulsewright::analyzer::compare({before, after}, {"before", "after"});
  BOOST_TEST((result.result == Change::not_comparable));
  BOOST_TEST(result.reasons.size() == 3u);
  BOOST_TEST(result.headline.starts_with("Not comparable: other protocol"));
}

BOOST_AUTO_TEST_CASE(an_undersampled_capture_is_too_coarse_to_compare) {
  const auto before = diagnosis_with(0.3, 800e-9, Outcome::pass);
  auto after = before;
  after.verdict.causes.push_back({.id = "undersampled", .confidence = 1, .text = {}, .evidence = {}, .refuted_by = {}, .action = {}});
  const auto result = pulsewright::analyzer::compare({before, after}, {"before", "after"});
  BOOST_TEST((result.result == Change::not_comparable));
  BOOST_TEST(result.reasons.front() == "after is sampled too coarsely");
}

BOOST_AUTO_TEST_CASE(nothing_out_of_a_few_pulses_is_not_certainty) {
  auto before = diagnosis_with(0.3, 800e-9, Outcome::fail), after = before;
  before.pulses.zero.count = before.pulses.one.count = after.pulses.zero.count = after.pulses.one.count = 6;
  before.pulses.out_of_window = 1;
  const auto few = pulsewright::analyzer::compare({before, after}, {"a", "b"});
  BOOST_TEST(!row(few, "pulses.out_of_window").significant);
  before.pulses.zero.count = before.pulses.one.count = after.pulses.zero.count = after.pulses.one.count = 600;
  before.pulses.out_of_window = 100;
  const auto many = pulsewright::analyzer::compare({before, after}, {"a", "b"});
  BOOST_TEST(row(many, "pulses.out_of_window").better.value());
}

BOOST_AUTO_TEST_CASE(a_longer_edge_matters_only_where_it_eats_the_pulse) {
  auto before = diagnosis_with(0.3, 800e-9, Outcome::pass), after = before;
  after.rising.duration_10_90_s = Measured::of(40e-9, 1e-9);
  const auto harmless = pulsewright::analyzer::compare({before, after}, {"a", "b"});
  BOOST_TEST(row(harmless, "rising.duration_10_90_s").significant);
  BOOST_TEST(!row(harmless, "rising.duration_10_90_s").better.has_value());
  after.rising.duration_10_90_s = Measured::of(250e-9, 2e-9);
  const auto harmful = pulsewright::analyzer::compare({before, after}, {"a", "b"});
  BOOST_TEST(!row(harmful, "rising.duration_10_90_s").better.value());
}

BOOST_AUTO_TEST_CASE(prediction_is_held_against_the_edge_that_came) {
  auto before = diagnosis_with(0.0, 800e-9, Outcome::fail), after = diagnosis_with(0.02, 800e-9, Outcome::pass);
  Candidate candidate;
  candidate.ohm = 33;
  candidate.overshoot_ratio = Measured::of(0.03, 0.01);
  for (int i = -50; i <= 150; ++i) {
    const double t_s = i * 2e-9;
    candidate.as_probed.t_s.push_back(t_s);
    candidate.as_probed.v.push_back(2.5 + 2.5 * std::tanh(t_s / 30e-9));
    candidate.as_probed.band_v.push_back(0.1);
  }
  before.suggestion.candidates = {candidate};
  for (int i = -100; i <= 300; ++i) {
    const double t_s = i * 0.7e-9;
    after.rising.response.t_s.push_back(t_s);
    after.rising.response.v.push_back(2.5 + 2.5 * std::tanh(t_s / 30e-9) + 0.05);
  }

  after.settings.series_ohm = Measured::of(34.2);  // a 33 ohm part that reads a little high
  const auto kept = pulsewright::analyzer::compare({before, after}, {"a", "b"}).prediction;
  BOOST_TEST_REQUIRE(kept.present);
  BOOST_TEST(kept.ohm == 33.0);
  BOOST_TEST(*kept.rms_error_v.value == 0.05, boost::test_tools::tolerance(0.02));
  BOOST_TEST(*kept.overshoot_error.value == -0.01, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(kept.within_band);

  for (auto& v : after.rising.response.v) v += 0.3;
  const auto missed = pulsewright::analyzer::compare({before, after}, {"a", "b"}).prediction;
  BOOST_TEST(!missed.within_band);

  after.settings.series_ohm = Measured::of(47);
  BOOST_TEST(!pulsewright::analyzer::compare({before, after}, {"a", "b"}).prediction.present);
}

BOOST_AUTO_TEST_CASE(a_series_is_ranked_by_verdict_then_by_smallest_margin) {
  const auto with_margin = [](Outcome outcome, double value) {
    auto d = diagnosis_with(0.1, 800e-9, outcome);
    d.checks.push_back({.id = "t1h", .name = "high time of a 1", .result = outcome, .value = Measured::of(value, 1e-9),
                        .limit_low = 650e-9, .limit_high = 950e-9, .unit = "s", .source = {}, .text = {}, .advisory = false});
    return d;
  };
  const auto result = pulsewright::analyzer::compare(
      {with_margin(Outcome::fail, 600e-9), with_margin(Outcome::pass, 700e-9), with_margin(Outcome::pass, 800e-9)},
      {"220", "100", "33"});
  BOOST_TEST(result.ranking[0].index == 2u);
  BOOST_TEST(result.ranking[1].index == 1u);
  BOOST_TEST(result.ranking[2].index == 0u);
  BOOST_TEST(*result.ranking[0].margin.value == 1.0, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(*result.ranking[1].margin.value == 1.0 / 3, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(*result.ranking[2].margin.value == -1.0 / 3, boost::test_tools::tolerance(1e-9));
}

BOOST_AUTO_TEST_CASE(fewer_than_two_captures_is_a_misuse) {
  BOOST_CHECK_THROW(pulsewright::analyzer::compare({diagnosis_with(0, 8e-7, Outcome::pass)}, {"a"}), std::invalid_argument);
}

BOOST_AUTO_TEST_SUITE_END()
