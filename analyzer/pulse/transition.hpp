#pragma once

#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "importers/capture.hpp"

namespace pulsewright::analyzer {

/// One passage from one state to the other, found with hysteresis and interpolated between samples (IEEE Std 181).
/// Offsets are relative to the 50 % reference level instant; NaN where the waveform never gets to that level before
/// the next transition.
struct Transition {
  double mid_s = 0;
  float vil_offset_s = std::numeric_limits<float>::quiet_NaN();  ///< last crossing of the receiver's VIL on this transition
  float vih_offset_s = std::numeric_limits<float>::quiet_NaN();  ///< first crossing of VIH
  float p10_offset_s = std::numeric_limits<float>::quiet_NaN();  ///< 10 % of the way from the old state to the new one
  float p90_offset_s = std::numeric_limits<float>::quiet_NaN();
  bool rising = false;
  bool monotonic = true;            ///< between VIL and VIH
  unsigned char recrossings = 0;    ///< returns across a receiver threshold after the edge
};

/// Every transition of the record in order of time; rising and falling alternate.
/// `vil_v` and `vih_v` are the receiver's input levels. Empty where the levels are missing. `noise_rms_v` and `adc_step_v`
/// widen the hysteresis, which is at least 5 % of the amplitude either side of the 50 % level, at most 20 %.
std::vector<Transition> find_transitions(const SampleView& samples, const Levels& levels, double vil_v, double vih_v,
                                         double noise_rms_v = 0, double adc_step_v = 0);

/// The transitions that the driver made: where the record swings past its states by more than a quarter of the amplitude,
/// a pair that leaves a state and comes back without getting within 10 % of the other one is a ring-back, and left out.
/// The receiver may well count it; the response of an edge goes on through it. Nothing where the record does not swing that far: then all are the driver's.
std::optional<std::vector<Transition>> without_ring_backs(std::span<const Transition> transitions, const Levels& levels);

/// Transitions of a logic channel: instants only, all offsets 0 (two-state data know no reference levels but one). A
/// change is seen up to one sample interval late; the interval between two has u = Ts / sqrt(6).
std::vector<Transition> transitions_of_logic(std::span<const importers::LogicChange> changes);

}  // namespace pulsewright::analyzer
