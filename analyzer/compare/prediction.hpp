#pragma once

#include "analyzer/compare.hpp"

namespace pulsewright::analyzer {

/// Holds the later rising edge against what the earlier diagnosis predicted for the resistor now fitted. A value within
/// 5 % and 2 ohm of a predicted one counts as that one (plug-in packs read a few ohm above nominal: common practice, no
/// source).
PredictionKept prediction_kept(const Diagnosis& before, const Diagnosis& after);

/// No prediction, and why.
PredictionKept no_prediction(std::string why);

}  // namespace pulsewright::analyzer
