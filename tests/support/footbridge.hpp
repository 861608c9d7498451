#pragma once
// Captures of the demo's footbridge as ngspice has it (tests/reference/compare), through a simulated cheap scope.

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <fstream>
#include <map>
#include <memory>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "analyzer/diagnose.hpp"
#include "tests/support/waveforms.hpp"

namespace pulsewright::footbridge {

struct Table {
  std::vector<double> time_s;
  std::map<std::string, std::vector<double>> columns;
};

inline const Table& table() {
  static const Table made = [] {
    Table read;
    std::ifstream file(std::string(PULSEWRIGHT_SOURCE_DIR) + "/tests/reference/compare/steps.csv");
    BOOST_TEST_REQUIRE(file.good(), "tests/reference/compare/steps.csv is not there");
    std::string line, cell;
    std::getline(file, line);
    std::vector<std::string> names;
    for (std::istringstream head(line); std::getline(head, cell, ',');) names.push_back(cell);
    while (std::getline(file, line)) {
      std::size_t column = 0;
      for (std::istringstream row(line); std::getline(row, cell, ','); ++column)
        (column == 0 ? read.time_s : read.columns[names[column]]).push_back(std::stod(cell));
    }
    return read;
  }();
  return made;
}

/// Unit step response of one circuit and probe, e.g. "far68"; 0 is the beginning of the driver's ramp.
inline waveforms::StepResponse step(const std::string& name) {
  const auto& all = table();
  const auto found = all.columns.find(name);
  BOOST_TEST_REQUIRE((found != all.columns.end()), "no circuit is called " << name);
  const auto* volts = &found->second;
  const auto* times = &all.time_s;
  const double last = volts->back();
  return {[=](double t) {
            if (t <= times->front()) return 0.0;
            if (t >= times->back()) return 1.0;
            const auto after = std::upper_bound(times->begin(), times->end(), t);
            const auto i = static_cast<std::size_t>(after - times->begin());
            const double part = (t - (*times)[i - 1]) / ((*times)[i] - (*times)[i - 1]);
            return ((*volts)[i - 1] + part * ((*volts)[i] - (*volts)[i - 1])) / last;
          },
          times->front(), times->back()};
}

/// How a capture was taken. Times of a controller for 12 V pixels whose clock is 0.3 % slow.
struct Taking {
  std::string circuit = "far68";
  unsigned seed = 1;
  double rate_hz = 100e6, noise_rms_v = 0.03, gain = 1.006, offset_v = 0.01;
  double range_low_v = -2.5, range_high_v = 7.5;
  std::vector<bool> bits = waveforms::bits_of({0x10, 0xFF, 0x4C, 0xA5, 0x03, 0x80, 0x00, 0x7E, 0xC1});
  std::size_t frames = 3;
};

/// Cheap scope: 8 bits over 10 V, noise, sample clock 20 ppm off, trigger at a random instant.
inline importers::Capture take(const Taking& taking) {
  std::mt19937 generator(taking.seed);
  std::uniform_real_distribution<double> uniform(0, 1);
  const auto signal = waveforms::bit_train({.bits = taking.bits, .t0h_s = 300.9e-9, .t0l_s = 952.9e-9, .t1h_s = 902.7e-9, .t1l_s = 351.1e-9,
                                            .idle_s = 20e-6, .frames = taking.frames, .latch_gap_s = 302e-6, .jitter_s = 0.5e-9,
                                            .seed = static_cast<unsigned>(generator())},
                                           step(taking.circuit));
  const double lost_s = uniform(generator) * 3e-6;
  return waveforms::sample(signal, {.sample_interval_s = 1 / taking.rate_hz, .start_s = lost_s + uniform(generator) / taking.rate_hz,
                                    .noise_rms_v = taking.noise_rms_v, .adc_bits = 8, .range_low_v = taking.range_low_v, .range_high_v = taking.range_high_v,
                                    .gain = taking.gain, .offset_v = taking.offset_v, .clock_ratio = 1 + 20e-6,
                                    .seed = static_cast<unsigned>(generator())})
      .capture(taking.circuit + ".csv");
}

inline analyzer::Settings settings(double series_ohm) {
  analyzer::Settings stated;
  stated.protocol = "ws2815-800k-v1.1", stated.cable = "pixel-18", stated.length_m = 18;
  stated.bandwidth_hz = 100e6, stated.series_ohm = series_ohm;
  return stated;
}

}  // namespace pulsewright::footbridge
