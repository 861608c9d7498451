#pragma once
// The open-ended line without a fit: what a pencil gets out of one edge.

#include <optional>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::analyzer {

/// R/Z0 and delay from the shape of one edge at an open far end.
struct ClosedForm {
  double source_ratio = 1, source_ratio_u = 0.3;
  std::optional<double> delay_s;
};

/// Overshoot OS gives R/Z0 = (1 - OS) / (1 + OS); a staircase whose first step reaches the fraction F gives
/// R/Z0 = 2 / F - 1. The ring's half period is 2 Td. Slow edges (longer than the round trip) make the ratio come out too
/// near 1. Missing when the response is empty or the edge shows neither.
std::optional<ClosedForm> closed_form(const EdgeResponse& rising, double low_v, double high_v, double noise_rms_v);

}  // namespace pulsewright::analyzer
