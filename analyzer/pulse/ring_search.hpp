#pragma once
// One ring after one kind of edge.

#include <optional>
#include <string>
#include <vector>

#include "analyzer/pulse/damped_modes.hpp"
#include "analyzer/pulse/ringing.hpp"

namespace pulsewright::analyzer {

struct Found {
  DampedMode mode;
  double frequency_u_hz = 0, damping_u_per_s = 0, amplitude_u = 0;
  bool harmonics = false;  ///< odd multiples stand beside it
  double rms_residual = 0, noise_v = 0;  ///< of the fit, and what noise alone would leave
  double interval_s = 0;   ///< of the values that were fitted
};

struct Search {
  std::optional<Found> found;
  std::string why_not;
  std::vector<double> spectrum_hz, spectrum_v;
};

/// The ring that carries most of what swings after the edge: over the whole response, else over shorter stretches of it.
Search search_ring(const EdgeResponse& response, bool rising, double duration_s, const RingingContext& context);

/// A ring that has died out before the first echo of a line that rings at `line_hz` is back, one round trip after the edge,
/// where the line itself stands still: none of its odd harmonics. At least three swings above `lowest_hz`.
std::optional<Found> ring_before_echo(const EdgeResponse& response, bool rising, double line_hz, double lowest_hz,
                                      const RingingContext& context);

/// The response without what swings with `period_s` or faster: averaged twice over one period.
EdgeResponse without_faster(const EdgeResponse& response, double period_s);

}  // namespace pulsewright::analyzer
