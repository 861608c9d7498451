#pragma once
// What several figures share.

#include <string>
#include <vector>

#include "reports/figures/panel.hpp"

namespace pulsewright::reports::figures {

/// Axis of the voltages: volts, or parts of the swing for a capture without a scale.
Axis voltage_axis(const analyzer::Diagnosis& diagnosis, const std::vector<double>& values, std::vector<double> include = {});

/// VIL and VIH of the receiver, where the capture has volts.
void draw_thresholds(Panel& panel, const analyzer::Diagnosis& diagnosis);

/// Why there is no waveform: the reason of the logic capture, else `otherwise`.
Figure no_waveform(const analyzer::Diagnosis& diagnosis, std::string otherwise);

/// The response as far as its edges run together: where they part for longer than a twentieth of it, no curve stands for all.
Points run_together(const analyzer::EdgeResponse& response, const analyzer::Measured& amplitude_v);

std::vector<double> widened(const std::vector<float>& values);

}  // namespace pulsewright::reports::figures
