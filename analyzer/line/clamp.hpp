#pragma once
// Input clamps of the receiver: diodes into its supply and its ground, which superposition does not know.

#include <cstddef>
#include <span>
#include <vector>

namespace pulsewright::analyzer {

/// Either diode as a knee with a resistance behind it (the diode's own, a resistor between terminal and chip).
/// A silicon diode bends over some 0.1 V about its knee: this is what the straight line leaves out.
struct Clamp {
  double high_v = 1e9, low_v = -1e9;  ///< knees, absolute
  double ohm = 1e6;
};

/// Currents that the clamps draw from the far node, one a grid step, and the far node's voltage as they leave it.
/// `far_v` is the voltage without clamps at the grid's instants; `response` is current_response() of the far node on that
/// grid. Step by step, as in the method of characteristics (Bergeron): what earlier currents sent down the line comes back.
struct Clamped {
  std::vector<double> far_v, current_a;
};
Clamped clamp(std::vector<double> far_v, const Clamp& clamp, std::span<const double> response);

/// What these currents do to a node with this current_response(), to be added to its voltage without clamps.
std::vector<double> voltage_of(std::span<const double> current_a, std::span<const double> response);

}  // namespace pulsewright::analyzer
