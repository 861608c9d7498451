// A swap of the resistor simulated in ngspice and never seen by the fit. ctest runs five lines; PULSEWRIGHT_STUDY=30 runs thirty
// and prints their table.

#include <unistd.h>

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <string>

#include "analyzer/line/margins.hpp"
#include "analyzer/line/preferred_values.hpp"
#include "tests/support/line_capture.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

constexpr double step_s = 1e-9;

// Source, resistor, cable with half of its loss at either end, pixel; probe and scope where `probed`. One line a deck: the
// arrivals of many in one would make ngspice step from breakpoint to breakpoint.
StepResponseGrid simulate(const tests::LineTruth& t, double series_ohm, bool probed) {
  const auto folder = std::filesystem::temp_directory_path() / ("pulsewright-ngspice-" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  {
    std::ofstream deck(folder / "swap.cir");
    deck.precision(10);
    deck << "before and after\nV1 src 0 PWL(0 0 " << t.edge_s << " 1)\nR1 src near " << t.driver_ohm + series_ohm << "\nC1 near 0 3p\n"
         << "R2 near a " << t.loop_ohm / 2 << "\nT1 a 0 b 0 Z0=" << t.z0_ohm << " TD=" << t.delay_s << "\nR3 b far " << t.loop_ohm / 2
         << "\nC2 far 0 " << t.pixel_f + (probed ? t.probe_f : 0) << "\nE1 e 0 far 0 1\nR4 e out 1\n";
    if (probed) deck << "C3 out 0 " << 1 / (2 * std::acos(-1.0) * t.bandwidth_hz) << "\n";
    deck << ".tran 1n 2.2u 0 1n\n.control\nset wr_singlescale\nrun\nlinearize v(out)\nwrdata " << (folder / "out.txt").string()
         << " v(out)\nquit\n.endc\n.end\n";
  }
  const std::string command =
      "ngspice -b " + (folder / "swap.cir").string() + " > " + (folder / "log.txt").string() + " 2>&1 < /dev/null";
  const int status = std::system(command.c_str());
  BOOST_TEST_CONTEXT("ngspice returned " << status) BOOST_TEST_REQUIRE(std::filesystem::exists(folder / "out.txt"));
  StepResponseGrid step{.step_s = step_s, .first_s = 0, .v = {}, .final_v = 1};
  std::ifstream in(folder / "out.txt");
  for (double time = 0, v = 0; in >> time >> v;) step.v.push_back(v);
  std::filesystem::remove_all(folder);
  BOOST_TEST_REQUIRE(step.v.size() > 2000u);
  return step;
}

// The first as probed behind the present resistor, then in service behind each of `ohms`.
std::vector<StepResponseGrid> simulate_all(const tests::LineTruth& t, const std::vector<double>& ohms) {
  std::vector<StepResponseGrid> steps{simulate(t, t.series_ohm, true)};
  for (const double ohm : ohms) steps.push_back(simulate(t, ohm, false));
  return steps;
}

Margins judge(const StepResponseGrid& step, const Receiver& receiver) {
  const auto pattern = worst_case_pattern({});
  auto v = superpose_on_grid(pattern.edges, step, step, 0, step_s, static_cast<std::size_t>((pattern.end_s + 250e-9) / step_s));
  for (auto& each : v) each *= 5;
  return judge_waveform(v, 0, step_s, pattern, step.first_crossing_s(0.02), 0, 5, receiver);
}

double waveform_error(const Candidate& candidate, const StepResponseGrid& step) {
  const double mid = step.first_crossing_s(0.5);
  double squares = 0;
  for (std::size_t i = 0; i < candidate.waveform.t_s.size(); ++i)
    squares += std::pow(candidate.waveform.v[i] - 5 * step.at(candidate.waveform.t_s[i] + mid), 2);
  return std::sqrt(squares / static_cast<double>(candidate.waveform.t_s.size())) / 5;
}

struct Comparison {
  double suggested_ohm = 0, optimum_ohm = 0, low_ohm = 1e9, high_ohm = 0, waveform_error = 0;
  bool agrees = false;
};

Comparison compare(const tests::LineTruth& truth, const Suggestion& s, const std::vector<double>& ohms,
                   const std::vector<StepResponseGrid>& steps, const Receiver& receiver) {
  Comparison c;
  c.suggested_ohm = s.action == Action::keep ? truth.series_ohm : s.series_ohm.value.value_or(-1);
  double best = -1e9;
  std::size_t optimum = 0, nearest = 0;
  for (std::size_t k = 0; k < ohms.size(); ++k) {
    const double margin = judge(steps[k + 1], receiver).all();
    if (margin > best) best = margin, optimum = k;
    if (margin > 0) c.low_ohm = std::min(c.low_ohm, ohms[k]), c.high_ohm = std::max(c.high_ohm, ohms[k]);
    if (std::abs(ohms[k] - c.suggested_ohm) < std::abs(ohms[nearest] - c.suggested_ohm)) nearest = k;
  }
  c.optimum_ohm = ohms[optimum];
  const auto one_step = [&](std::size_t a, std::size_t b) { return a > b ? a - b <= 1 : b - a <= 1; };
  c.agrees = one_step(nearest, optimum) || (c.suggested_ohm >= c.low_ohm && c.suggested_ohm <= c.high_ohm);
  for (const auto& candidate : s.candidates)
    if (candidate.ohm == ohms[nearest]) c.waveform_error = waveform_error(candidate, steps[nearest + 1]);
  return c;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(line_ngspice)

BOOST_AUTO_TEST_CASE(suggestion_and_prediction_agree_with_a_brute_force_swap) {
  const char* wanted = std::getenv("PULSEWRIGHT_STUDY");
  const std::size_t lines = wanted != nullptr ? static_cast<std::size_t>(std::atoi(wanted)) : 5;
  SettingsUsed used;
  used.windows = *find_windows(kDefaultWindowsId, {});
  const Receiver receiver{used.vih_v, used.vil_v, used.supply_v, used.windows};
  const auto ohms = preferred_values(PreferredSeries::e12, 10, 330);
  std::mt19937 generator(4711);
  std::size_t agreeing = 0, predicted = 0, done = 0;
  while (done < lines) {
    auto truth = tests::random_line(generator);
    truth.skin_ohm = 0;
    if (truth.ratio() > 3 && truth.delay_s > 100e-9) continue;  // unreadable: see line_fit
    ++done;
    const auto steps = simulate_all(truth, ohms);
    const auto capture = tests::capture_step(truth, std::make_shared<StepResponseGrid>(steps[0]));
    Settings settings;
    settings.series_ohm = truth.series_ohm, settings.bandwidth_hz = truth.bandwidth_hz;
    const auto node = capture.node();
    const auto s = analyze_line({.node = node, .other_end = nullptr, .stated = &settings, .used = &used}).suggestion;
    const auto c = compare(truth, s, ohms, steps, receiver);
    agreeing += c.agrees ? 1 : 0, predicted += c.waveform_error < 0.04 && !s.candidates.empty() ? 1 : 0;
    if (wanted != nullptr)
      std::cout << done << "  Z0 " << truth.z0_ohm << "  Td " << truth.delay_s * 1e9 << " ns  driver " << truth.driver_ohm << "  fitted " << truth.series_ohm
                << "  suggested " << c.suggested_ohm << "  ngspice best " << c.optimum_ohm << " range " << c.low_ohm << " to " << c.high_ohm
                << "  waveform error " << 100 * c.waveform_error << " %  " << (c.agrees ? "agrees" : "DIFFERS") << std::endl;
  }
  if (wanted != nullptr) std::cout << agreeing << " of " << lines << " agree, " << predicted << " waveforms within 4 %\n";
  BOOST_TEST(agreeing + lines / 15 >= lines);
  BOOST_TEST(predicted + (lines + 9) / 10 >= lines);  // measured: 27 of 30; heavily overdamped long lines miss
}

BOOST_AUTO_TEST_SUITE_END()
