#pragma once
// The ring after an edge: frequency, decay, and whether line or probe rings.

#include <optional>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/accuracy.hpp"
#include "analyzer/settings.hpp"

namespace pulsewright::analyzer {

struct RingingContext {
  const EdgeResponse* rising = nullptr;
  const EdgeResponse* falling = nullptr;
  const Levels* levels = nullptr;
  double noise_rms_v = 0, adc_step_v = 0;
  double sample_interval_s = 0;
  double rising_10_90_s = 0, falling_10_90_s = 0;  ///< 0: not measured
  Accuracy accuracy;
  std::optional<double> length_m;   ///< of the cable, where stated
  Measured velocity_m_per_s;        ///< of the cable, with its uncertainty; missing where the cable is not stated
};

/// Frequency, decay per period and damping ratio of the ring after the edges, with standard uncertainties from the fit's
/// Jacobian; missing with a reason where nothing rings above the noise.
///
/// Start value from the spectrum, modes by matrix pencil, then least squares of f, 3f and 5f with one damping (an open
/// line rings at odd multiples of 1/(4 Td); alpha = -ln|Gamma| / (2 Td)). A ring is the line's where odd harmonics stand
/// or the stated length fits; the probe's at about 100 MHz and up (100 nH to 150 nH of ground lead with 10 pF to 15 pF
/// ring at 106 MHz to 159 MHz) or where it is far above what the stated line can do. Length = velocity / (4 f), the load
/// capacitance of the input adds to it.
Ringing find_ringing(const RingingContext& context);

}  // namespace pulsewright::analyzer
