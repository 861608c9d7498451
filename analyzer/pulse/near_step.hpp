#pragma once
// The step that the near end of a line shows behind its series resistor.

#include "analyzer/diagnosis.hpp"

namespace pulsewright::analyzer {

/// Behind a source of resistance R, a line first takes Z0 / (R + Z0) of the step, and stays there until the reflection of the
/// far end is back after one round trip: the edge dwells.
struct NearStep {
  Measured level_v;        ///< where it dwells
  Measured round_trip_s;   ///< from the first step to the second: 2 Td
  Measured source_ratio;   ///< R / Z0 = (top - level) / (level - start)
  explicit operator bool() const { return level_v.value.has_value(); }
};

/// From the response of the rising edge. `top_v` is the level that the driver goes to. Missing where the edge does not dwell
/// for 30 ns or more between two steps of at least a tenth of the swing. u: a third of the drift along the dwell on the level
/// (losses and the fall of the state before tilt it), the length of the steps on the time.
NearStep near_step(const EdgeResponse& rising, double low_v, double top_v);

}  // namespace pulsewright::analyzer
