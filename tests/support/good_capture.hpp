#pragma once
// A sound capture as text, for tests of the program as a whole.

#include <string>

#include "tests/support/waveforms.hpp"

namespace pulsewright::program {

/// Two frames of six bytes, 5 V, 10 ns a sample, as "time,volts".
inline std::string good_capture() {
  const waveforms::BitTrain train{.bits = waveforms::bits_of({0x12, 0xA5, 0x00, 0xFF, 0x3C, 0x81}), .frames = 2};
  const auto step = waveforms::lattice({.source_ratio = 1, .td_s = 20e-9, .edge_s = 12e-9, .gaussian_s = 7e-9});
  const auto record = waveforms::sample(waveforms::bit_train(train, step), {.sample_interval_s = 10e-9, .noise_rms_v = 0.02});
  std::string text = "time (s),far end (V)\n";
  for (std::size_t i = 0; i < record.volts.size(); ++i)
    text += std::to_string(i * 10) + "e-9," + std::to_string(record.volts[i]) + "\n";
  return text;
}

}  // namespace pulsewright::program
