// ngspice at work while the tests run: the forward model against it, and a swap of the resistor that the fit never sees. ctest runs
// a few lines of each; PULSEWRIGHT_STUDY=34 runs that many and prints their table, PULSEWRIGHT_STUDY_SEED draws others.

#include <unistd.h>

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>
#include <string>

#include "analyzer/line/margins.hpp"
#include "analyzer/line/preferred_values.hpp"
#include "tests/support/line_capture.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

constexpr double step_s = 1e-9;

// Runs `lines` (a netlist whose last node of interest is `out`) and gives v(out) at every nanosecond.
std::vector<double> run_ngspice(const std::string& lines, double end_s) {
  const auto folder = std::filesystem::temp_directory_path() / ("pulsewright-ngspice-" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  {
    std::ofstream deck(folder / "line.cir");
    deck << lines << ".options method=trap reltol=1e-3\n.tran 1n " << end_s << " 0 1n\n.control\nset wr_singlescale\nrun\nlinearize v(out)\nwrdata "
         << (folder / "out.txt").string() << " v(out)\nquit\n.endc\n.end\n";
  }
  const std::string command =
      "ngspice -b " + (folder / "line.cir").string() + " > " + (folder / "log.txt").string() + " 2>&1 < /dev/null";
  const int status = std::system(command.c_str());
  BOOST_TEST_CONTEXT("ngspice returned " << status) BOOST_TEST_REQUIRE(std::filesystem::exists(folder / "out.txt"));
  std::vector<double> volts;
  std::ifstream in(folder / "out.txt");
  for (double time = 0, v = 0; in >> time >> v;) volts.push_back(v);
  std::filesystem::remove_all(folder);
  BOOST_TEST_REQUIRE(static_cast<double>(volts.size()) > 0.9 * end_s / step_s);
  return volts;
}

// What the pixel has between its terminal and its chip.
struct PixelInput {
  double pad_ohm = 0.01;    ///< resistor before the chip
  double diode_ohm = 0;     ///< of either clamp; 0: no clamps
};

// Resistor, cable with half of its loss at either end, pixel; probe and scope where `probed`. Steps are 1 ns at most, so no
// breakpoints are asked for at arrivals (rel, abs): a train of bits would have thousands.
std::string netlist(const tests::LineTruth& t, double series_ohm, bool probed, const PixelInput& pixel, const std::string& source) {
  std::ostringstream deck;
  deck.precision(10);
  deck << "a line\n" << source << "\nR1 src near " << t.driver_ohm + series_ohm << "\nC1 near 0 " << t.near_f << "\n"
       << "R2 near a " << t.loop_ohm / 2 << "\nT1 a 0 b 0 Z0=" << t.z0_ohm << " TD=" << t.delay_s << " rel=1e3 abs=1e15\nR3 b far " << t.loop_ohm / 2
       << "\nC2 far 0 " << (probed ? t.probe_f : 1e-15) << "\nR5 far din " << pixel.pad_ohm << "\nC4 din 0 " << t.pixel_f
       << "\nE1 e 0 far 0 1\nR4 e out 1\n";
  if (pixel.diode_ohm > 0)
    deck << "Vdd vdd 0 5\nD1 din vdd clamp\nD2 0 din clamp\n.model clamp D(IS=1e-14 N=1.05 RS=" << pixel.diode_ohm << ")\n";
  if (probed) deck << "C3 out 0 " << 1 / (2 * std::acos(-1.0) * t.bandwidth_hz) << "\n";
  return deck.str();
}

StepResponseGrid simulate(const tests::LineTruth& t, double series_ohm, bool probed, const PixelInput& pixel = {}) {
  std::ostringstream ramp;
  ramp << "V1 src 0 PWL(0 0 " << t.edge_s << " 1)";
  return {.step_s = step_s, .first_s = 0, .v = run_ngspice(netlist(t, series_ohm, probed, pixel, ramp.str()), 2.2e-6), .final_v = 1};
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

// The whole record through ngspice, since clamps forbid superposition.
tests::LineCapture capture_clamped(const tests::LineTruth& t, const PixelInput& pixel) {
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(t.bits, t.seed), .idle_s = 6e-6, .frames = t.frames, .latch_gap_s = 8e-6}, {});
  std::ostringstream source;
  source.precision(12);
  source << "V1 src 0 PWL(0 0";
  for (std::size_t i = 0; i < signal.edges_s.size(); ++i)
    source << "\n+ " << signal.edges_s[i] << " " << (i % 2 == 0 ? 0 : 5) << " " << signal.edges_s[i] + t.edge_s << " " << (i % 2 == 0 ? 5 : 0);
  source << ")";
  const auto volts = run_ngspice(netlist(t, t.series_ohm, true, pixel, source.str()), signal.end_s);
  const auto volts_at = [&](double time_s) {
    const double place = std::clamp(time_s / step_s, 0.0, static_cast<double>(volts.size()) - 1.001);
    const auto k = static_cast<std::size_t>(place);
    return volts[k] + (place - static_cast<double>(k)) * (volts[k + 1] - volts[k]);
  };
  return tests::capture_function(t, volts_at, signal.end_s);
}

// Lines that ring into their pixel's clamps.
tests::LineTruth random_clamped_line(std::mt19937& generator, PixelInput& pixel) {
  const auto uniform = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  auto t = tests::random_line(generator);
  t.skin_ohm = 0, t.bits = 32, t.frames = 1;
  t.driver_ohm = uniform(12, 32), t.series_ohm = std::vector<double>{0, 0, 10, 22}[generator() % 4];
  t.bandwidth_hz = generator() % 2 == 0 ? 50e6 : 100e6;
  pixel.pad_ohm = generator() % 3 == 0 ? 0.01 : uniform(20, 150), pixel.diode_ohm = uniform(2, 30);
  return t;
}

// A line with constant resistance (ngspice's LTRA), its source and its load.
struct LossyLine {
  LineParameters line;
  double source_ohm = 0;
};

LossyLine random_lossy_line(std::mt19937& generator) {
  const auto uniform = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  const auto spread = [&](double a, double b) { return std::exp(uniform(std::log(a), std::log(b))); };
  LossyLine drawn;
  drawn.source_ohm = spread(8, 470);
  auto& line = drawn.line;
  line.z0_ohm = uniform(48, 150), line.delay_s = spread(12e-9, 200e-9), line.loop_ohm = uniform(0.2, 12);
  line.near_f = uniform(1e-12, 20e-12), line.far_f = uniform(4e-12, 60e-12), line.edge_s = uniform(2e-9, 15e-9);
  line.bandwidth_hz = std::vector<double>{20e6, 50e6, 100e6, 200e6}[generator() % 4];
  return drawn;
}

std::string netlist(const LossyLine& drawn, const std::string& node) {
  const auto& line = drawn.line;
  std::ostringstream deck;
  deck.precision(10);
  deck << "a lossy line\nV1 src 0 PWL(0 0 " << line.edge_s << " 1)\nR1 src near " << drawn.source_ohm << "\nC1 near 0 " << line.near_f
       << "\nO1 near 0 far 0 line\n.model line LTRA(R=" << line.loop_ohm << " L=" << line.z0_ohm * line.delay_s << " G=0 C=" << line.delay_s / line.z0_ohm
       << " LEN=1)\nC2 far 0 " << line.far_f << "\nE1 e 0 " << node << " 0 1\nR4 e out 1\nC3 out 0 " << 1 / (2 * std::acos(-1.0) * line.bandwidth_hz) << "\n";
  return deck.str();
}

double rms_difference(const StepResponseGrid& step, const std::vector<double>& volts) {
  double squares = 0;
  for (std::size_t i = 0; i < volts.size(); ++i) squares += std::pow(step.at(step_s * static_cast<double>(i)) - volts[i], 2);
  return std::sqrt(squares / static_cast<double>(volts.size()));
}

std::size_t study_lines(std::size_t usual) {
  const char* wanted = std::getenv("PULSEWRIGHT_STUDY");
  return wanted != nullptr ? static_cast<std::size_t>(std::atoi(wanted)) : usual;
}

unsigned study_seed(unsigned usual) {
  const char* wanted = std::getenv("PULSEWRIGHT_STUDY_SEED");
  return wanted != nullptr ? static_cast<unsigned>(std::atoi(wanted)) : usual;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(line_ngspice)

// 1 % of the swing, rms, at both ends, with lines that no stored reference holds (those are in line_model).
BOOST_AUTO_TEST_CASE(forward_model_agrees_on_lines_drawn_now) {
  std::mt19937 generator(study_seed(6121));
  const std::size_t lines = study_lines(6);
  for (std::size_t i = 0; i < lines; ++i) {
    const auto drawn = random_lossy_line(generator);
    const double end_s = 8 * drawn.line.delay_s + 4 * drawn.line.edge_s;
    const auto grid = LineGrid::fit_for(drawn.line, drawn.source_ohm);
    for (const auto end : {LineEnd::near, LineEnd::far}) {
      const auto volts = run_ngspice(netlist(drawn, end == LineEnd::near ? "near" : "far"), end_s);
      const double error = rms_difference(LineSpectrum(drawn.line, end, grid).step_response(drawn.source_ohm), volts);
      if (std::getenv("PULSEWRIGHT_STUDY") != nullptr)
        std::cout << i + 1 << (end == LineEnd::near ? " near" : " far") << "  Z0 " << drawn.line.z0_ohm << "  Td " << drawn.line.delay_s * 1e9 << " ns  source "
                  << drawn.source_ohm << "  error " << 100 * error << " %" << std::endl;
      BOOST_TEST_CONTEXT("line " << i + 1 << ", end " << static_cast<int>(end)) BOOST_TEST(error < 0.01);
    }
  }
}

// Input clamps of the receiver (a silicon diode to either rail, a resistor of 0 to 150 ohm before them): R/Z0 within its stated
// uncertainty, and the suggested value among those that pass.
BOOST_AUTO_TEST_CASE(lines_that_ring_into_clamps_are_read_as_they_are) {
  const std::size_t lines = study_lines(15);
  SettingsUsed used;
  used.windows = *find_windows(kDefaultWindowsId, {});
  const Receiver receiver{used.vih_v, used.vil_v, used.supply_v, used.windows};
  const auto ohms = preferred_values(PreferredSeries::e12, 10, 330);
  std::mt19937 generator(study_seed(5021));
  std::size_t within_2u = 0, agreeing = 0, claims = 0;
  for (std::size_t i = 0; i < lines; ++i) {
    PixelInput pixel;
    const auto truth = random_clamped_line(generator, pixel);
    const auto capture = capture_clamped(truth, pixel);
    Settings settings;
    settings.series_ohm = truth.series_ohm, settings.bandwidth_hz = truth.bandwidth_hz;
    const auto found = analyze_line({.node = capture.node(), .other_end = nullptr, .stated = &settings, .used = &used});
    if (!found.fit.fitted) {
      std::cout << "clamped line " << i + 1 << ": " << found.fit.why_not << "\n";
      continue;
    }
    ++claims;
    // Values that pass leave the clamps at rest: the linear model, which agrees with ngspice (line_model), tells which they are.
    std::vector<StepResponseGrid> steps{truth.step(truth.series_ohm, true)};
    for (const double ohm : ohms) steps.push_back(truth.step(ohm, false));
    const auto c = compare(truth, found.suggestion, ohms, steps, receiver);
    const double error = *found.fit.source_ratio - truth.ratio();
    within_2u += std::abs(error) < 2 * found.fit.source_ratio.u ? 1 : 0, agreeing += c.agrees ? 1 : 0;
    if (std::getenv("PULSEWRIGHT_STUDY") != nullptr)
      std::cout << i + 1 << "  R/Z0 " << truth.ratio() << " found " << *found.fit.source_ratio << " u " << found.fit.source_ratio.u << " residual "
                << *found.fit.rms_residual_v << "  pad " << pixel.pad_ohm << "  suggested " << c.suggested_ohm << "  best " << c.optimum_ohm
                << " range " << c.low_ohm << " to " << c.high_ohm << (c.agrees ? "" : "  DIFFERS") << std::endl;
  }
  std::cout << within_2u << " of " << claims << " ratios within 2 u, " << agreeing << " suggestions agree\n";
  BOOST_TEST(claims + lines / 10 >= lines);
  BOOST_TEST(within_2u + lines / 10 >= claims);
  BOOST_TEST(agreeing + lines / 15 >= claims);
}

BOOST_AUTO_TEST_CASE(suggestion_and_prediction_agree_with_a_brute_force_swap) {
  const bool wanted = std::getenv("PULSEWRIGHT_STUDY") != nullptr;
  const std::size_t lines = study_lines(5);
  SettingsUsed used;
  used.windows = *find_windows(kDefaultWindowsId, {});
  const Receiver receiver{used.vih_v, used.vil_v, used.supply_v, used.windows};
  const auto ohms = preferred_values(PreferredSeries::e12, 10, 330);
  std::mt19937 generator(study_seed(4711));
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
    if (wanted)
      std::cout << done << "  Z0 " << truth.z0_ohm << "  Td " << truth.delay_s * 1e9 << " ns  driver " << truth.driver_ohm << "  fitted " << truth.series_ohm
                << "  suggested " << c.suggested_ohm << "  ngspice best " << c.optimum_ohm << " range " << c.low_ohm << " to " << c.high_ohm
                << "  waveform error " << 100 * c.waveform_error << " %  " << (c.agrees ? "agrees" : "DIFFERS") << std::endl;
  }
  if (wanted) std::cout << agreeing << " of " << lines << " agree, " << predicted << " waveforms within 4 %\n";
  BOOST_TEST(agreeing + lines / 15 >= lines);
  // Measured, thirty lines each (suggestions, waveforms): seed 4711 30 and 29, 60217 30 and 30, 90210 30 and 28 with 3 pF at the
  // near end of every line; with 2 pF to 7 pF, as now: 31337 29 and 28, 2026 30 and 30. Waveforms that miss are those of cables of
  // 70 to 82 ohm of which the fit is told nothing: one capture does not tell the absolute impedance. The suggestion that 31337
  // misses is for a line of R/Z0 0.17 whose echoes last as long as the bits.
  BOOST_TEST(predicted + lines / 10 >= lines);
}

BOOST_AUTO_TEST_SUITE_END()
