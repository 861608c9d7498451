#include "analyzer/line/clamp.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <numeric>
#include <vector>

using namespace pulsewright::analyzer;

namespace {

constexpr double step_s = 2e-9;

// 5 V behind 25 ohm into an open line of 100 ohm, 50 ns: 4 V travel, and come back -0.6-fold.
LineParameters open_line() {
  return {.z0_ohm = 100, .delay_s = 50e-9, .loop_ohm = 0, .skin_ohm = 0, .near_f = 0, .far_f = 0, .far_siemens = 0, .edge_s = 0, .bandwidth_hz = 0};
}

std::size_t at_ns(double t_ns) { return static_cast<std::size_t>(t_ns * 1e-9 / step_s + 0.5); }

std::vector<double> far_v_without_clamps() {
  std::vector<double> v(at_ns(500), 0);
  for (std::size_t n = at_ns(50); n < v.size(); ++n) v[n] = 5 * (1 - std::pow(-0.6, static_cast<double>((n - at_ns(50)) / at_ns(100) + 1)));
  return v;
}

const Clamp diodes{.high_v = 5.7, .low_v = -0.7, .ohm = 20};
constexpr double cut_v = 2.3 * 100 / 120;
const auto tiny = boost::test_tools::tolerance(1e-9);

}  // namespace

BOOST_AUTO_TEST_SUITE(clamp)

// Lattice diagram by hand: 8 V behind 100 ohm meet 20 ohm at 5.7 V, which leaves 5.7 + 2.3 / 6 V; the missing 1.9167 V travel back,
// return -0.6-fold and double. At 3.2 + 2.3 V no clamp conducts.
BOOST_AUTO_TEST_CASE(a_clamped_arrival_sends_its_rest_down_the_line) {
  const auto change = ClampEffect(open_line(), LineEnd::far, 25, step_s).on(far_v_without_clamps(), diodes);
  BOOST_TEST(change[at_ns(48)] == 0);
  for (const double t : {50.0, 100.0, 148.0}) BOOST_TEST(change[at_ns(t)] == -cut_v, tiny);
  for (const double t : {152.0, 248.0}) BOOST_TEST(change[at_ns(t)] == 1.2 * cut_v, tiny);
  for (const double t : {252.0, 348.0}) BOOST_TEST(change[at_ns(t)] == -0.72 * cut_v, tiny);
}

// 1 - 0.6 of what arrives there 50 ns later.
BOOST_AUTO_TEST_CASE(the_near_end_sees_it_one_delay_later) {
  const auto change = ClampEffect(open_line(), LineEnd::near, 25, step_s).on(far_v_without_clamps(), diodes);
  BOOST_TEST(std::abs(change[at_ns(98)]) < 1e-12);
  for (const double t : {102.0, 198.0}) BOOST_TEST(change[at_ns(t)] == -0.4 * cut_v, tiny);
}

// What a current leaves on C parallel to Z0: exp(-t / Z0 C) after the clamp has let go (closed form).
BOOST_AUTO_TEST_CASE(the_load_forgets_with_its_time_constant) {
  auto line = open_line();
  line.far_f = 100e-12;
  std::vector<double> v(at_ns(90), 5);
  for (std::size_t n = at_ns(10); n < at_ns(20); ++n) v[n] = 8;
  const auto change = ClampEffect(line, LineEnd::far, 25, step_s).on(v, diodes);
  BOOST_TEST(change[at_ns(18)] < -1.0);
  BOOST_TEST(change[at_ns(40)] / change[at_ns(30)] == std::exp(-1.0), tiny);
}

// A distortionless loss exp(-R / 2 Z0) a passage: 10 ohm over 100 ohm, there and back.
BOOST_AUTO_TEST_CASE(loss_takes_its_share_of_what_returns) {
  auto line = open_line();
  line.loop_ohm = 10;
  const auto change = ClampEffect(line, LineEnd::far, 25, step_s).on(far_v_without_clamps(), diodes);
  BOOST_TEST(change[at_ns(200)] / change[at_ns(100)] == -1.2 * std::exp(-0.1), boost::test_tools::tolerance(1e-3));
}

// Step response of a passage with skin effect alone: erfc(K ways / (4 Z0 sqrt(t))) (closed form: inverse transform of exp(-a sqrt(s)) / s).
// Three poles stand for it within some per cent.
BOOST_AUTO_TEST_CASE(skin_loss_rises_as_the_error_function_says) {
  auto line = open_line();
  line.skin_ohm = 3;
  const auto change = ClampEffect(line, LineEnd::far, 25, step_s).on(far_v_without_clamps(), diodes);
  const double k = line.skin_ohm / std::sqrt(std::acos(-1.0) * 1e6);
  for (const double after : {4.0, 10.0, 20.0, 40.0, 90.0}) {
    const double passed = std::erfc(k / (2 * line.z0_ohm * std::sqrt(after * 1e-9 + step_s / 2)));
    BOOST_TEST(change[at_ns(150 + after)] / change[at_ns(100)] == -1.2 * passed, boost::test_tools::tolerance(0.03));
  }
}

BOOST_AUTO_TEST_CASE(a_finer_grid_is_thinned_and_filled_again) {
  constexpr double longest_s = 2.5e-9;  // of its own steps
  auto line = open_line();
  line.far_f = 20e-12;
  const auto ramp_v = [](double t_s) { return t_s < 10e-9 ? 5.0 : 5 + 2 * std::min((t_s - 10e-9) / 20e-9, 1.0); };
  std::vector<double> coarse_v, fine_v;
  for (std::size_t n = 0; n < 100; ++n) coarse_v.push_back(ramp_v(static_cast<double>(n) * longest_s));
  for (std::size_t n = 0; n < 500; ++n) fine_v.push_back(ramp_v(static_cast<double>(n) * longest_s / 5));
  const auto coarse = ClampEffect(line, LineEnd::far, 25, longest_s).on(coarse_v, diodes);
  const auto fine = ClampEffect(line, LineEnd::far, 25, longest_s / 5).on(fine_v, diodes);
  BOOST_TEST(fine[200] < -0.5);
  for (std::size_t n = 0; n < 99; ++n) {
    BOOST_TEST(fine[5 * n] == coarse[n], tiny);
    BOOST_TEST(fine[5 * n + 2] == 0.6 * coarse[n] + 0.4 * coarse[n + 1], tiny);
  }
}

BOOST_AUTO_TEST_CASE(nothing_changes_while_no_clamp_conducts) {
  const std::vector<double> v(100, 5.5);
  const auto change = ClampEffect(open_line(), LineEnd::far, 25, step_s).on(v, diodes);
  BOOST_TEST(std::accumulate(change.begin(), change.end(), 0.0) == 0);
}

BOOST_AUTO_TEST_SUITE_END()
