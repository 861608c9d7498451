#pragma once
// What the user told us about the set-up. Everything is optional: what is not stated is assumed and said so.

#include <optional>
#include <string>
#include <vector>

#include "analyzer/protocol/windows.hpp"

namespace pulsewright::analyzer {

enum class ProbePosition { far, near };  ///< at the pixel's data input, or at the controller's output

struct Settings {
  std::optional<std::string> protocol{};     ///< id of a TimingWindows entry; else inferred from the capture
  std::vector<TimingWindows> own_windows{};  ///< from --windows; searched before the built-in ones
  std::optional<double> supply_v{};          ///< VDD of the receiving pixel; default 5 V
  std::optional<double> series_ohm{};        ///< resistor fitted now
  std::optional<std::string> driver{};       ///< family id from the driver table
  std::optional<double> driver_ohm{};        ///< or its output resistance
  std::optional<std::string> cable{};        ///< id from the cable table
  std::optional<double> length_m{};
  std::optional<ProbePosition> at{};            ///< default far
  std::optional<double> probe_factor{};         ///< attenuation of the probe fitted (1, 10, ...): sets its assumed load
  std::optional<double> multiply{};             ///< every voltage of the file is multiplied by this (default 1)
  std::optional<double> bandwidth_hz{};         ///< -3 dB bandwidth of scope and probe together
  std::optional<double> gain_accuracy_ratio{};  ///< limit of the scope's gain error; default 0.03 (common practice)
  std::optional<double>
      timebase_accuracy_ratio{};         ///< limit of the sample clock's error; default 50e-6 (common practice)
  std::optional<std::string> channel{};  ///< name or number, counted from 1
  std::optional<std::string> near_channel{};  ///< the same in the near capture
  bool invert = false;
  std::string title{};
};

}  // namespace pulsewright::analyzer
