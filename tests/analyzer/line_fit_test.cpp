#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <string>

#include "analyzer/diagnose.hpp"
#include "analyzer/line/closed_form.hpp"
#include "analyzer/line/driver_edges.hpp"
#include "analyzer/line/fit.hpp"
#include "analyzer/pulse/sample_scan.hpp"
#include "tests/support/line_capture.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

LineOutcome analyze(const tests::LineTruth& truth, const LineNode& node, const LineNode* other = nullptr, bool stated = true) {
  Settings settings;
  if (stated) settings.series_ohm = truth.series_ohm, settings.bandwidth_hz = truth.bandwidth_hz;
  SettingsUsed used;
  used.windows = *find_windows(kDefaultWindowsId, {});
  return analyze_line({.node = node, .other_end = other, .stated = &settings, .used = &used});
}

std::size_t study_size(std::size_t usual) {
  const char* wanted = std::getenv("PULSEWRIGHT_STUDY");
  return wanted != nullptr ? static_cast<std::size_t>(std::atoi(wanted)) : usual;
}

// How often stated uncertainties hold: of a normal distribution 95 % lie within 2 u, 68 % within 1 u.
struct Held {
  std::size_t claims = 0, within_1u = 0, within_2u = 0;

  void add(double error, double u) { ++claims, within_1u += std::abs(error) < u ? 1 : 0, within_2u += std::abs(error) < 2 * u ? 1 : 0; }
  double share(std::size_t count) const { return static_cast<double>(count) / static_cast<double>(claims); }
  std::string text() const { return std::to_string(within_1u) + " within 1 u, " + std::to_string(within_2u) + " within 2 u of " + std::to_string(claims); }
};

}  // namespace

BOOST_AUTO_TEST_SUITE(line_fit)

// Truth from the forward model, seen through 100 MS/s, 8 bits, 20 to 100 MHz. Set PULSEWRIGHT_STUDY to a number for more.
BOOST_AUTO_TEST_CASE(finds_ratio_and_delay_through_a_cheap_scope_and_its_errors_hold) {
  const char* seed = std::getenv("PULSEWRIGHT_STUDY_SEED");
  std::mt19937 generator(seed != nullptr ? static_cast<unsigned>(std::atoi(seed)) : 77u);
  const std::size_t lines = study_size(40);
  std::size_t readable = 0, visible = 0, ratio_good = 0, delay_good = 0, settled = 0;
  Held ratio_held, delay_held;
  for (std::size_t i = 0; i < lines; ++i) {
    const auto truth = tests::random_line(generator);
    const auto capture = tests::capture_line(truth);
    const auto found = analyze(truth, capture.node());
    // A line on which the shortest pulse does not get to 85 % hands out no usable record; the fit may refuse it.
    const auto step = truth.step(truth.series_ohm, true);
    const bool is_readable = step.first_crossing_s(0.85) - step.first_crossing_s(0.05) < 400e-9;
    // Closer to the match the echo, (R - Z0) / (R + Z0) of the swing, is less than two steps of the converter.
    const bool is_visible = is_readable && std::abs(truth.ratio() - 1) / (truth.ratio() + 1) > 2 * 16.0 / 256 / 5;
    readable += is_readable ? 1 : 0, visible += is_visible ? 1 : 0;
    BOOST_TEST_CONTEXT("line " << i << " R/Z0 " << truth.ratio() << " Td " << truth.delay_s << " bandwidth " << truth.bandwidth_hz) {
      if (!found.fit.fitted) {
        std::cout << "line " << i << " R/Z0 " << truth.ratio() << " Td " << truth.delay_s << ": " << found.fit.why_not << "\n";
        continue;
      }
      const double ratio_error = *found.fit.source_ratio / truth.ratio() - 1, delay_error = found.fit.delay_s.value.value_or(truth.delay_s) / truth.delay_s - 1;
      if (study_size(0) > 0)
        std::cout << i << " R/Z0 " << truth.ratio() << " error " << ratio_error << " u " << found.fit.source_ratio.u / truth.ratio() << "  Td "
                  << truth.delay_s << " error " << delay_error << " u " << found.fit.delay_s.u / truth.delay_s << "\n";
      if (is_readable) ratio_good += std::abs(ratio_error) < 0.10 ? 1 : 0;
      if (is_visible) delay_good += found.fit.delay_s && std::abs(delay_error) < 0.05 ? 1 : 0;
      if (is_readable) settled += std::ranges::any_of(found.fit.doubts, [](const auto& doubt) { return doubt.find("settled") != doubt.npos; }) ? 0 : 1;
      ratio_held.add(*found.fit.source_ratio - truth.ratio(), found.fit.source_ratio.u);
      if (found.fit.delay_s) delay_held.add(*found.fit.delay_s - truth.delay_s, found.fit.delay_s.u);
    }
  }
  if (study_size(0) > 0)
    std::cout << lines << " lines, " << readable << " readable: ratio within 10 % " << ratio_good << ", delay within 5 % " << delay_good << " of " << visible << " with an echo to see, settled " << settled << ", ratio " << ratio_held.text()
              << ", delay " << delay_held.text() << "\n";
  BOOST_TEST(ratio_good + readable / 30 >= readable);
  BOOST_TEST(delay_good + visible / 30 >= visible);
  BOOST_TEST(settled == readable);
  for (const auto& held : {ratio_held, delay_held}) {
    BOOST_TEST(held.share(held.within_2u) >= 0.9);
    BOOST_TEST(held.share(held.within_1u) <= 0.9, "wider than what happens: " << held.text());
  }
}

// A staircase, where the driver's edges are the turning points of the voltage.
BOOST_AUTO_TEST_CASE(the_drivers_edges_are_the_same_with_extremes_of_blocks_as_without) {
  for (const double series_ohm : {310.0, 500.0}) {
    tests::LineTruth truth;
    truth.series_ohm = series_ohm;
    const auto capture = tests::capture_line(truth);
    auto node = capture.node();
    const auto plain = driver_edges(node);
    BOOST_TEST_REQUIRE(plain.dwells);
    const auto blocks = block_extremes(node.samples.values);
    node.samples.blocks = blocks;
    const auto blocked = driver_edges(node);
    BOOST_TEST((blocked.dwells && blocked.lowest_v == plain.lowest_v && blocked.highest_v == plain.highest_v && blocked.level_ratio == plain.level_ratio));
    BOOST_TEST_REQUIRE(blocked.edges.size() == plain.edges.size());
    for (std::size_t i = 0; i < plain.edges.size(); ++i) BOOST_TEST((blocked.edges[i].mid_s == plain.edges[i].mid_s && blocked.edges[i].rising == plain.edges[i].rising));
  }
}

// Starts are tried on two threads: which comes first is chance, what is found is not.
BOOST_AUTO_TEST_CASE(the_same_is_found_whichever_thread_comes_first) {
  tests::LineTruth truth;
  truth.bits = 120;
  const auto capture = tests::capture_line(truth);
  const auto node = capture.node();
  const auto fit = [&] { return fit_line({.node = &node, .other_end = nullptr, .priors = priors_from(nullptr, nullptr)}); };
  const auto first = fit();
  BOOST_TEST_REQUIRE(first.usable);
  for (int again = 0; again < 8; ++again) {
    const auto next = fit();
    BOOST_TEST(next.coordinates == first.coordinates, boost::test_tools::per_element());
    BOOST_TEST(next.shift_s == first.shift_s, boost::test_tools::per_element());
  }
}

// A ring that goes through any level more often than the bits do, and a staircase that no bit gets to the top of.
BOOST_AUTO_TEST_CASE(lines_whose_echoes_outlast_the_bits_are_found) {
  struct Case {
    double source_ratio, delay_s;
    std::size_t ring_crossings;
  };
  for (const auto& each : {Case{0.165, 87e-9, 300}, Case{0.2, 90e-9, 300}, Case{3.4, 140e-9, 0}}) {
    tests::LineTruth truth;
    truth.driver_ohm = std::min(30.0, 100 * each.source_ratio), truth.series_ohm = 100 * each.source_ratio - truth.driver_ohm, truth.delay_s = each.delay_s;
    truth.bandwidth_hz = 100e6;
    const auto capture = tests::capture_line(truth);
    BOOST_TEST_CONTEXT("R/Z0 " << each.source_ratio) {
      BOOST_TEST(capture.transitions.size() >= 2 * truth.bits * truth.frames + each.ring_crossings);
      const auto found = analyze(truth, capture.node());
      BOOST_TEST_REQUIRE(found.fit.fitted, found.fit.why_not);
      BOOST_TEST(*found.fit.source_ratio == truth.ratio(), boost::test_tools::tolerance(0.1));
      BOOST_TEST(*found.fit.delay_s == truth.delay_s, boost::test_tools::tolerance(0.02));
      BOOST_TEST((found.suggestion.action == Action::change_series_resistor), found.suggestion.text);
    }
  }
}

// With no resistor stated, echoes of some per cent are all that tells the delay.
BOOST_AUTO_TEST_CASE(delay_of_a_line_close_to_its_match_is_found_or_left_open) {
  std::mt19937 generator(5);
  const auto between = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  const std::size_t lines = study_size(20);
  std::size_t told = 0, within_2u = 0, told_well = 0;
  for (std::size_t i = 0; i < lines; ++i) {
    tests::LineTruth truth;
    truth.z0_ohm = between(70, 125), truth.delay_s = between(25e-9, 160e-9), truth.skin_ohm = between(1, 6), truth.pixel_f = between(7e-12, 15e-12);
    truth.edge_s = between(3e-9, 9e-9), truth.bandwidth_hz = between(30e6, 100e6), truth.sample_interval_s = between(4e-9, 10e-9);
    truth.driver_ohm = between(15, 45), truth.series_ohm = between(0.88, 1.12) * truth.z0_ohm - truth.driver_ohm, truth.seed = static_cast<unsigned>(i);
    const auto capture = tests::capture_line(truth);
    const auto found = analyze(truth, capture.node(), nullptr, false);
    BOOST_TEST_REQUIRE(found.fit.fitted, found.fit.why_not);
    if (!found.fit.delay_s) continue;
    const double error = std::abs(*found.fit.delay_s - truth.delay_s);
    ++told, within_2u += error < 2 * found.fit.delay_s.u ? 1 : 0, told_well += found.fit.delay_s.u < 0.1 * truth.delay_s ? 1 : 0;
    BOOST_TEST(error < 4 * found.fit.delay_s.u, "R/Z0 " << truth.ratio() << " Td " << truth.delay_s << " found " << *found.fit.delay_s << " u " << found.fit.delay_s.u);
  }
  BOOST_TEST(static_cast<double>(within_2u) >= 0.85 * static_cast<double>(told));
  BOOST_TEST(told_well >= lines / 2);
}

// Peaks beyond the range of the instrument: what it shows instead are no voltages of the line.
BOOST_AUTO_TEST_CASE(peaks_that_the_instrument_cut_off_do_not_mislead_the_fit) {
  std::mt19937 generator(11);
  const auto between = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  std::size_t cut_off = 0, held = 0, held_as_volts = 0;
  for (std::size_t i = 0; i < study_size(12); ++i) {
    auto truth = tests::random_line(generator);
    truth.series_ohm = 0, truth.bandwidth_hz = 100e6;
    const auto whole = tests::capture_line(truth);
    const auto& levels = whole.states.levels;
    truth.range_high_v = *levels.high_v + between(0.3, 0.9) * (*levels.peak_max_v - *levels.high_v);
    truth.range_low_v = i % 2 == 0 ? *levels.low_v - between(0.3, 0.9) * (*levels.low_v - *levels.peak_min_v) : truth.range_low_v;
    const auto capture = tests::capture_line(truth);
    if (capture.states.clipped_high == 0) continue;
    ++cut_off;
    auto node = capture.node();
    const auto found = analyze(truth, node);
    node.range_low_v = -INFINITY, node.range_high_v = INFINITY;
    const auto as_volts = analyze(truth, node);
    BOOST_TEST_CONTEXT("line " << i << " R/Z0 " << truth.ratio() << " Td " << truth.delay_s << " range " << truth.range_low_v << " to " << truth.range_high_v) {
      BOOST_TEST_REQUIRE(found.fit.fitted, found.fit.why_not);
      BOOST_TEST(*found.fit.source_ratio == truth.ratio(), boost::test_tools::tolerance(0.1));
      BOOST_TEST(*found.fit.delay_s == truth.delay_s, boost::test_tools::tolerance(0.05));
      held += std::abs(*found.fit.source_ratio - truth.ratio()) < 2 * found.fit.source_ratio.u ? 1 : 0;
      held_as_volts += as_volts.fit.fitted && std::abs(*as_volts.fit.source_ratio - truth.ratio()) < 2 * as_volts.fit.source_ratio.u ? 1 : 0;
      if (study_size(0) > 0)
        std::cout << i << " R/Z0 " << truth.ratio() << " found " << *found.fit.source_ratio << " u " << found.fit.source_ratio.u << ", as volts "
                  << as_volts.fit.source_ratio.value.value_or(0) << " u " << as_volts.fit.source_ratio.u << "  Td " << truth.delay_s << " found " << found.fit.delay_s.value.value_or(0)
                  << ", as volts " << as_volts.fit.delay_s.value.value_or(0) << "\n";
    }
  }
  BOOST_TEST(cut_off >= 10u);
  BOOST_TEST(10 * held >= 9 * cut_off, held << " of " << cut_off);
  BOOST_TEST(held_as_volts < held);
}

BOOST_AUTO_TEST_CASE(a_diagnosis_tells_the_fit_where_the_instrument_cut_off) {
  tests::LineTruth truth;
  truth.bandwidth_hz = 100e6;
  const auto whole = tests::capture_line(truth);
  const auto& levels = whole.states.levels;
  truth.range_high_v = *levels.high_v + 0.5 * (*levels.peak_max_v - *levels.high_v);
  truth.range_low_v = *levels.low_v - 0.5 * (*levels.low_v - *levels.peak_min_v);
  Settings settings;
  settings.series_ohm = truth.series_ohm, settings.bandwidth_hz = truth.bandwidth_hz;
  const auto fit = diagnose(tests::capture_line(truth).record.capture(), settings).line;
  BOOST_TEST_REQUIRE(fit.fitted, fit.why_not);
  BOOST_TEST(std::abs(*fit.source_ratio - truth.ratio()) < 2 * fit.source_ratio.u, *fit.source_ratio << " u " << fit.source_ratio.u << " for " << truth.ratio());
  BOOST_TEST(fit.source_ratio.u < 0.02 * truth.ratio());
  BOOST_TEST(*fit.delay_s == truth.delay_s, boost::test_tools::tolerance(0.05));
}

// A lattice without loss, R/Z0 = 1: nothing comes back.
BOOST_AUTO_TEST_CASE(delay_of_a_matched_line_without_loss_is_left_open) {
  const auto step = waveforms::lattice({.source_ratio = 1, .td_s = 97e-9, .edge_s = 8e-9, .gaussian_s = 4e-9});
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(96, 3), .frames = 4, .latch_gap_s = 60e-6}, step);
  const tests::LineTruth truth;
  const auto capture = tests::capture_function(truth, [&](double t) { return signal.at(t); }, signal.end_s);
  const auto found = analyze(truth, capture.node(), nullptr, false);
  BOOST_TEST_REQUIRE(found.fit.fitted, found.fit.why_not);
  BOOST_TEST(!found.fit.delay_s);
  BOOST_TEST(*found.fit.source_ratio == 1, boost::test_tools::tolerance(0.05));
  BOOST_TEST((found.suggestion.action == Action::keep), found.suggestion.text);
}

BOOST_AUTO_TEST_CASE(finds_the_line_from_the_near_end_alone) {
  tests::LineTruth truth;
  truth.series_ohm = 33;
  const auto parameters = [&] {
    auto p = truth.line(true);
    p.far_f -= truth.probe_f, p.near_f += truth.probe_f;
    return p;
  }();
  const auto grid = LineGrid::fit_for(parameters, truth.source_ohm());
  const auto capture = tests::capture_step(
      truth, std::make_shared<StepResponseGrid>(LineSpectrum(parameters, LineEnd::near, grid).step_response(truth.source_ohm())));
  const auto found = analyze(truth, capture.node(ProbePosition::near));
  BOOST_TEST_REQUIRE(found.fit.fitted, found.fit.why_not);
  BOOST_TEST(*found.fit.source_ratio == truth.ratio(), boost::test_tools::tolerance(0.1));
  BOOST_TEST(*found.fit.delay_s == truth.delay_s, boost::test_tools::tolerance(0.05));
}

BOOST_AUTO_TEST_CASE(both_ends_together_give_the_delay) {
  tests::LineTruth truth;
  truth.series_ohm = 82;  // nearly matched: the far end alone hardly shows the delay
  auto parameters = truth.line(true);
  parameters.near_f += truth.probe_f;
  const auto grid = LineGrid::fit_for(parameters, truth.source_ohm());
  const auto at = [&](LineEnd end) {
    return tests::capture_step(truth, std::make_shared<StepResponseGrid>(LineSpectrum(parameters, end, grid).step_response(truth.source_ohm())));
  };
  const auto far = at(LineEnd::far), near = at(LineEnd::near);
  const auto near_node = near.node(ProbePosition::near);
  const auto found = analyze(truth, far.node(), &near_node);
  BOOST_TEST_REQUIRE(found.fit.fitted, found.fit.why_not);
  BOOST_TEST(*found.fit.source_ratio == truth.ratio(), boost::test_tools::tolerance(0.1));
  BOOST_TEST(*found.fit.delay_s == truth.delay_s, boost::test_tools::tolerance(0.03));
}

BOOST_AUTO_TEST_CASE(says_what_is_assumed_and_what_is_found) {
  tests::LineTruth truth;
  const auto capture = tests::capture_line(truth);
  const auto found = analyze(truth, capture.node(), nullptr, false);
  BOOST_TEST_REQUIRE(found.fit.fitted);
  BOOST_TEST(!found.fit.determined.empty());
  BOOST_TEST(found.fit.determined.front().starts_with("ratio of source resistance"));
  const auto mentions = [&](const char* what) {
    return std::any_of(found.fit.assumed.begin(), found.fit.assumed.end(), [&](const auto& s) { return s.find(what) != std::string::npos; });
  };
  BOOST_TEST(mentions("cable not stated"));
  BOOST_TEST(mentions("series resistor fitted now not stated"));
  BOOST_TEST(!found.fit.driver_ohm);
  BOOST_TEST(found.fit.t_s.size() == found.fit.model_v.size());
}

BOOST_AUTO_TEST_CASE(without_edges_there_is_a_reason_and_no_number) {
  tests::LineTruth truth;
  auto capture = tests::capture_line(truth);
  capture.transitions.resize(3);
  const auto found = analyze(truth, capture.node());
  BOOST_TEST(!found.fit.fitted);
  BOOST_TEST(found.fit.why_not == "too few edges in the record to fit a line");
  BOOST_TEST(!found.fit.z0_ohm);
  const auto logic = analyze_line({.node = {}, .other_end = nullptr, .stated = nullptr, .used = nullptr});
  BOOST_TEST(!logic.fit.fitted);
  BOOST_TEST((logic.suggestion.action == Action::recapture));
  BOOST_TEST(!logic.suggestion.text.empty());
}

// OS = (Z0 - R) / (Z0 + R), half period 2 Td (closed form of the open lossless line).
BOOST_AUTO_TEST_CASE(closed_form_reads_ratio_and_delay_off_one_edge) {
  for (const double ratio : {0.25, 0.5}) {
    const auto step = waveforms::lattice({.source_ratio = ratio, .td_s = 46.21e-9, .edge_s = 4e-9});
    EdgeResponse edge;
    for (double t = -50e-9; t < 400e-9; t += 0.5e-9) edge.t_s.push_back(t), edge.v.push_back(5 * step.at(t + 48.2e-9));
    const auto form = closed_form(edge, 0, 5, 0.01);
    BOOST_TEST_REQUIRE(form.has_value());
    BOOST_TEST(form->source_ratio == ratio, boost::test_tools::tolerance(0.02));
    BOOST_TEST_REQUIRE(form->delay_s.has_value());
    BOOST_TEST(*form->delay_s == 46.21e-9, boost::test_tools::tolerance(0.1));
  }
  BOOST_TEST(!closed_form({}, 0, 5, 0.01).has_value());
}

BOOST_AUTO_TEST_SUITE_END()
