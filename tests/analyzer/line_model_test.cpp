#include "analyzer/line/line_model.hpp"

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

#include "analyzer/line/line_slopes.hpp"

namespace {

using namespace pulsewright::analyzer;

const std::string folder = std::string(PULSEWRIGHT_SOURCE_DIR) + "/tests/reference/line/";

std::vector<std::vector<std::string>> rows_of(const std::string& file) {
  std::ifstream in(folder + file);
  BOOST_TEST_REQUIRE(in.good());
  std::vector<std::vector<std::string>> rows;
  for (std::string line; std::getline(in, line);) {
    std::vector<std::string> fields;
    std::stringstream cut(line);
    for (std::string field; std::getline(cut, field, ',');) fields.push_back(field);
    rows.push_back(fields);
  }
  return rows;
}

struct SimulatedSet {
  std::string name;
  double source_ohm = 0;
  LineParameters line;
  std::vector<double> t_s, near_v, far_v;
};

std::vector<SimulatedSet> simulated_sets() {
  std::vector<SimulatedSet> sets;
  const auto rows = rows_of("steps.csv");
  for (std::size_t i = 2; i < rows.size(); ++i) {
    const auto& r = rows[i];
    const auto number = [&](std::size_t k) { return std::stod(r[k]); };
    if (r[0] != "t") {
      sets.push_back({.name = r[0], .source_ohm = number(1), .line = {}, .t_s = {}, .near_v = {}, .far_v = {}});
      sets.back().line = {.z0_ohm = number(2), .delay_s = number(3), .loop_ohm = number(4), .skin_ohm = number(5), .near_f = number(6),
                          .far_f = number(7), .far_siemens = 0, .edge_s = number(8), .bandwidth_hz = number(9)};
      continue;
    }
    sets.back().t_s.push_back(number(1)), sets.back().near_v.push_back(number(2)), sets.back().far_v.push_back(number(3));
  }
  return sets;
}

double rms_difference(const StepResponseGrid& step, const std::vector<double>& t_s, const std::vector<double>& v) {
  double squares = 0;
  for (std::size_t i = 0; i < t_s.size(); ++i) squares += std::pow(step.at(t_s[i]) - v[i], 2);
  return std::sqrt(squares / static_cast<double>(t_s.size()));
}

}  // namespace

BOOST_AUTO_TEST_SUITE(line_model)

// tests/reference/line/steps.csv: ngspice 39, made by make_references.py beside it. 1 % of the swing, rms.
BOOST_AUTO_TEST_CASE(agrees_with_ngspice_over_random_lines_at_both_ends) {
  const auto sets = simulated_sets();
  BOOST_TEST_REQUIRE(sets.size() >= 32u);
  for (const auto& set : sets) {
    BOOST_TEST_CONTEXT(set.name) {
      const auto grid = LineGrid::fit_for(set.line, set.source_ohm);
      const auto near = LineSpectrum(set.line, LineEnd::near, grid).step_response(set.source_ohm);
      const auto far = LineSpectrum(set.line, LineEnd::far, grid).step_response(set.source_ohm);
      BOOST_TEST(rms_difference(near, set.t_s, set.near_v) < 0.01);
      BOOST_TEST(rms_difference(far, set.t_s, set.far_v) < 0.01);
    }
  }
}

// tests/reference/line/lattice.csv; sources of its examples:
//   L1  Intel 386 DX Microprocessor Hardware Reference Manual (order 231732), section 11.4.2, Table 11-1
//   L2  Stevenson, Elements of Power System Analysis, Example 5.6 (numeric listing; prints whole volts, cut off)
//   L3  Hayt & Buck, Engineering Electromagnetics, 8th edition, Example 10.11, pp. 351-352
//   L4  the same, Example 10.12, pp. 355-357 (charged line; only R/Z0 = 1/3 matters)
//   L5  Ulaby, Fundamentals of Applied Electromagnetics, time-domain reflectometer example
//   L6  end-of-chapter exercise, closed form computed
//   L7, L8  Hall, Hall & McCall, High-Speed Digital System Design, chapter 2 (from memory; two decimals)
//   P1-P5  closed form of a 30 ft open line, computed
BOOST_AUTO_TEST_CASE(gives_the_published_lattice_voltages) {
  const auto rows = rows_of("lattice.csv");
  BOOST_TEST_REQUIRE(rows.size() > 100u);
  const double td = 50e-9;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const auto& r = rows[i];
    BOOST_TEST_CONTEXT(r[0] << " k = " << r[6] << " " << r[7]) {
      const double from_v = std::stod(r[1]), to_v = std::stod(r[2]), swing = std::abs(to_v - from_v);
      const double load = r[5] == "inf" ? 0 : 1 / std::stod(r[5]);
      const LineParameters line{.z0_ohm = std::stod(r[4]), .delay_s = td, .loop_ohm = 0, .skin_ohm = 0, .near_f = 0, .far_f = 0,
                                .far_siemens = load, .edge_s = td / 20, .bandwidth_hz = 0};
      const auto end = r[7] == "source" ? LineEnd::near : LineEnd::far;
      const LineSpectrum spectrum(line, end, {.points = 8192, .span_s = 40 * td});
      const double v = from_v + (to_v - from_v) * spectrum.step_response(std::stod(r[3])).at((std::stod(r[6]) + 0.6) * td);
      BOOST_TEST(std::abs(v - std::stod(r[9])) < 2e-3 * swing);
      const double printed_to = r[0].starts_with("L2") ? 1 : r[0] == "L7" || r[0] == "L8" ? 0.005 : 0;
      if (!r[8].empty()) BOOST_TEST(std::abs(v - std::stod(r[8])) < 2e-3 * swing + printed_to);
    }
  }
}

// tau = Z0 C behind a matched source: 10-90 % in 2.1972 Z0 C (closed form).
BOOST_AUTO_TEST_CASE(load_of_a_matched_line_is_a_single_pole) {
  const LineParameters line{.z0_ohm = 100, .delay_s = 50e-9, .loop_ohm = 0, .skin_ohm = 0, .near_f = 0, .far_f = 100e-12,
                            .far_siemens = 0, .edge_s = 0.5e-9, .bandwidth_hz = 0};
  const auto step = LineSpectrum(line, LineEnd::far, {.points = 8192, .span_s = 1e-6}).step_response(100);
  BOOST_TEST(step.first_crossing_s(0.9) - step.first_crossing_s(0.1) == 2.1972 * 100 * 100e-12, boost::test_tools::tolerance(0.01));
}

// tan(omega Td) = 1 / (omega Z0 C): Td 45 ns, Z0 100 ohm, 15 pF ring at 5.3765 MHz (closed form, R towards 0).
BOOST_AUTO_TEST_CASE(load_pulls_the_ring_below_a_quarter_wave) {
  const LineParameters line{.z0_ohm = 100, .delay_s = 45e-9, .loop_ohm = 0, .skin_ohm = 0, .near_f = 0, .far_f = 15e-12,
                            .far_siemens = 0, .edge_s = 60e-9, .bandwidth_hz = 0};
  const auto step = LineSpectrum(line, LineEnd::far, {.points = 16384, .span_s = 4e-6}).step_response(5);
  double first = 0, last = 0;
  int crossings = 0;
  for (double t = 200e-9; t < 1.6e-6; t += 0.1e-9) {
    if (step.at(t) < 1 && step.at(t + 0.1e-9) >= 1) {
      if (crossings++ == 0) first = t;
      last = t;
    }
  }
  BOOST_TEST((crossings - 1) / (last - first) == 5.3765e6, boost::test_tools::tolerance(0.005));
}

// Central differences over 0.2 % of each parameter.
BOOST_AUTO_TEST_CASE(derivatives_of_the_step_are_those_of_small_changes) {
  constexpr double change = 1e-3, source_ohm = 40;
  const LineParameters line{.z0_ohm = 90, .delay_s = 60e-9, .loop_ohm = 2, .skin_ohm = 5, .near_f = 12e-12, .far_f = 25e-12,
                            .far_siemens = 0, .edge_s = 5e-9, .bandwidth_hz = 60e6};
  const std::vector<double LineParameters::*> parameters{&LineParameters::z0_ohm,   &LineParameters::delay_s, &LineParameters::loop_ohm,
                                                         &LineParameters::skin_ohm, &LineParameters::far_f,   &LineParameters::edge_s,
                                                         &LineParameters::bandwidth_hz};
  const LineGrid grid{.points = 2048, .span_s = 2e-6};
  for (const auto end : {LineEnd::near, LineEnd::far}) {
    const auto slopes = LineSlopes(line, end, grid, LineWaves(line, grid)).of(source_ohm);
    const auto step_with = [&](std::size_t knob, double factor) {
      auto moved = line;
      if (knob < parameters.size()) moved.*parameters[knob] *= factor;
      return LineSpectrum(moved, end, grid).step_response(knob == knob_source ? source_ohm * factor : source_ohm);
    };
    for (std::size_t knob = 0; knob < knob_count; ++knob) {
      const auto more = step_with(knob, 1 + change), less = step_with(knob, 1 - change);
      double largest = 0, error = 0;
      for (std::size_t i = 0; i < more.v.size(); ++i) {
        const double slope = (more.v[i] - less.v[i]) / (2 * change);
        largest = std::max(largest, std::abs(slope)), error = std::max(error, std::abs(slopes[knob].v[i] - slope));
      }
      BOOST_TEST_CONTEXT("end " << static_cast<int>(end) << " parameter " << knob) {
        BOOST_TEST(largest > 1e-4);
        BOOST_TEST(error < 1e-3 * largest);
      }
    }
  }
}

BOOST_AUTO_TEST_CASE(bits_are_sums_of_shifted_steps) {
  const LineParameters line{.z0_ohm = 100, .delay_s = 60e-9};
  const auto step = LineSpectrum(line, LineEnd::far, LineGrid::fit_for(line, 40)).step_response(40);
  const std::vector<SourceEdge> edges{{0, true}, {400e-9, false}, {1250e-9, true}, {2050e-9, false}};
  const auto on_grid = superpose_on_grid(edges, step, step, -100e-9, 2e-9, 2000);
  for (std::size_t i = 0; i < on_grid.size(); i += 37) {
    const double t = -100e-9 + 2e-9 * static_cast<double>(i);
    const double sum = step.at(t) - step.at(t - 400e-9) + step.at(t - 1250e-9) - step.at(t - 2050e-9);
    BOOST_TEST(std::abs(on_grid[i] - sum) < 1e-9);
    BOOST_TEST(std::abs(superpose(edges, step, step, t) - sum) < 1e-9);
  }
}

BOOST_AUTO_TEST_SUITE_END()
