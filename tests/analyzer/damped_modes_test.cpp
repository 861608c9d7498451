#include "analyzer/pulse/damped_modes.hpp"

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <numbers>
#include <vector>

#include "analyzer/pulse/mode_fit.hpp"

using namespace pulsewright;
namespace tt = boost::test_tools;

BOOST_AUTO_TEST_SUITE(damped_modes)

// Published test signal (signal-processing questions and answers, no. 28512): fs 2205 Hz, 250 samples, four damped cosines.
BOOST_AUTO_TEST_CASE(matrix_pencil_of_the_published_signal) {
  const double fs = 2205;
  const double frequencies[] = {80, 120, 250, 560}, amplitudes[] = {0.4, 1, 0.89, 0.65}, dampings[] = {70, 50, 90, 80};
  std::vector<double> y(250, 0);
  for (std::size_t k = 0; k < y.size(); ++k)
    for (int m = 0; m < 4; ++m) {
      const double t = static_cast<double>(k) / fs;
      y[k] += amplitudes[m] * std::exp(-dampings[m] * t) * std::cos(2 * std::numbers::pi * frequencies[m] * t);
    }
  auto modes = analyzer::matrix_pencil(y, 1 / fs, 8);
  BOOST_TEST_REQUIRE(modes.size() == 4u);
  std::sort(modes.begin(), modes.end(), [](const auto& a, const auto& b) { return a.frequency_hz < b.frequency_hz; });
  for (std::size_t m = 0; m < 4; ++m) {
    BOOST_TEST(modes[m].frequency_hz == frequencies[m], tt::tolerance(1e-6));
    BOOST_TEST(modes[m].damping_per_s == dampings[m], tt::tolerance(1e-6));
    BOOST_TEST(modes[m].amplitude == amplitudes[m], tt::tolerance(1e-6));
    BOOST_TEST(std::abs(modes[m].phase_rad) < 1e-6);
  }
}

// Help text of Octave's expfit: y = 2 e^(1.3 x) - 0.5 e^(2 x), x = 0:0.05:5.
BOOST_AUTO_TEST_CASE(growing_exponentials_of_a_published_fit) {
  std::vector<double> y;
  for (int k = 0; k <= 100; ++k) y.push_back(2 * std::exp(1.3 * 0.05 * k) - 0.5 * std::exp(2 * 0.05 * k));
  auto modes = analyzer::matrix_pencil(y, 0.05, 2, 1e-12);
  BOOST_TEST_REQUIRE(modes.size() == 2u);
  BOOST_TEST(modes[0].damping_per_s == -1.3, tt::tolerance(1e-6));
  BOOST_TEST(modes[0].amplitude == 2.0, tt::tolerance(1e-6));
  BOOST_TEST(modes[1].damping_per_s == -2.0, tt::tolerance(1e-6));
  BOOST_TEST(modes[1].amplitude == 0.5, tt::tolerance(1e-6));
  BOOST_TEST(std::abs(modes[1].phase_rad) == std::numbers::pi, tt::tolerance(1e-6));  // negative amplitude
}

// Two-pole recursion y[n+2] = 2 r cos(theta) y[n+1] - r^2 y[n], r = 0.9, theta = 30 degrees (mathematics).
BOOST_AUTO_TEST_CASE(two_poles_from_eight_samples) {
  const std::vector<double> y{1, 0.779422863, 0.405, 0, -0.32805, -0.511379341, -0.531441, -0.414217266};
  const auto modes = analyzer::matrix_pencil(y, 1, 2);
  BOOST_TEST_REQUIRE(modes.size() == 1u);
  BOOST_TEST(modes[0].frequency_hz == 1.0 / 12, tt::tolerance(1e-8));
  BOOST_TEST(std::exp(-modes[0].damping_per_s) == 0.9, tt::tolerance(1e-8));
}

// Logarithmic decrement and overshoot of second-order steps (mathematics).
BOOST_AUTO_TEST_CASE(decrement_and_overshoot_table) {
  struct Row {
    double zeta, overshoot, delta;
  };
  for (const auto& row : {Row{0.05, 0.85447, 0.31455}, Row{0.1, 0.72925, 0.63148}, Row{0.2, 0.52662, 1.28255}, Row{0.3, 0.37233, 1.97597},
                          Row{0.4, 0.25383, 2.74221}, Row{0.5, 0.16303, 3.62760}, Row{0.6, 0.09478, 4.71239}, Row{0.8, 0.01516, 8.37758}}) {
    BOOST_TEST(analyzer::decrement_of_damping(row.zeta) == row.delta, tt::tolerance(1e-5));
    BOOST_TEST(analyzer::damping_of_decrement(row.delta) == row.zeta, tt::tolerance(1e-5));
    BOOST_TEST(analyzer::damping_of_overshoot(row.overshoot) == row.zeta, tt::tolerance(1e-3 * 0.3));
  }
  // Published exercise (mass 6 kg on 5400 N/m; its book is not on record): amplitude ratio 3/2 of successive cycles gives delta 0.40547 and zeta 0.06440.
  BOOST_TEST(analyzer::damping_of_decrement(std::log(1.5)) == 0.06440, tt::tolerance(1e-4));
}

BOOST_AUTO_TEST_CASE(spectrum_finds_the_line) {
  std::vector<double> y;
  for (int k = 0; k < 400; ++k) y.push_back(0.7 * std::sin(2 * std::numbers::pi * 5.41e6 * k * 5e-9));
  std::vector<double> hz, v;
  BOOST_TEST(analyzer::strongest_line_hz(y, 5e-9, 1e6, 50e6, &hz, &v) == 5.41e6, tt::tolerance(2e-3));
  BOOST_TEST(*std::max_element(v.begin(), v.end()) == 0.7, tt::tolerance(0.01));
  BOOST_TEST(analyzer::strongest_line_hz(y, 5e-9, 1e6, 4e6) <= 4e6);
  BOOST_TEST(analyzer::strongest_line_hz(std::vector<double>(100, 0.0), 1, 0, 1) == 0);
}

BOOST_AUTO_TEST_CASE(fit_returns_the_modes_and_the_level) {
  std::vector<double> y;
  for (int k = 0; k < 200; ++k) {
    const double t = k * 5e-9;
    y.push_back(4.9 + 1.2 * std::exp(-5e6 * t) * std::cos(2 * std::numbers::pi * 5e6 * t + 0.4) + 0.3 * std::exp(-5e6 * t) * std::cos(2 * std::numbers::pi * 15e6 * t - 1));
  }
  const auto fit = analyzer::fit_modes(y, 5e-9, {{4.6e6, 4e6, 1, 0}, {15.6e6, 4e6, 1, 0}}, 0);
  BOOST_TEST(fit.converged);
  BOOST_TEST(fit.level == 4.9, tt::tolerance(1e-6));
  BOOST_TEST(fit.modes[0].frequency_hz == 5e6, tt::tolerance(1e-6));
  BOOST_TEST(fit.modes[0].damping_per_s == 5e6, tt::tolerance(1e-6));
  BOOST_TEST(fit.modes[0].amplitude == 1.2, tt::tolerance(1e-6));
  BOOST_TEST(fit.modes[0].phase_rad == 0.4, tt::tolerance(1e-6));
  BOOST_TEST(fit.modes[1].frequency_hz == 15e6, tt::tolerance(1e-6));
}

BOOST_AUTO_TEST_CASE(too_little_data_gives_nothing) {
  BOOST_TEST(analyzer::matrix_pencil(std::vector<double>{1, 2, 3}, 1, 2).empty());
  BOOST_TEST(analyzer::matrix_pencil(std::vector<double>(20, 0.0), 1, 2).empty());
  BOOST_TEST(!analyzer::fit_modes(std::vector<double>{1, 2, 3}, 1, {{0.1, 0.1, 1, 0}}, 0).converged);
}

BOOST_AUTO_TEST_SUITE_END()
