#pragma once

#include <cmath>
#include <limits>
#include <span>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

/// One passage from one state to the other, found with hysteresis and interpolated between samples (IEEE Std 181).
/// Offsets are relative to the 50 % reference level instant; NaN where the waveform never gets to that level before
/// the next transition.
struct Transition {
  double mid_s = 0;
  float vil_offset_s = std::numeric_limits<float>::quiet_NaN();  ///< last crossing of the receiver's VIL on this transition
  float vih_offset_s = std::numeric_limits<float>::quiet_NaN();  ///< first crossing of VIH
  float p10_offset_s = std::numeric_limits<float>::quiet_NaN();
  float p90_offset_s = std::numeric_limits<float>::quiet_NaN();
  bool rising = false;
  bool monotonic = true;            ///< between VIL and VIH
  unsigned char recrossings = 0;    ///< returns across a receiver threshold after the edge
};

/// Every transition of the record in order of time; rising and falling alternate.
/// `vil_v` and `vih_v` are the receiver's input levels.
std::vector<Transition> find_transitions(const SampleView& samples, const Levels& levels, double vil_v, double vih_v);

}  // namespace pulsewright::analyzer
