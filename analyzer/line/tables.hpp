#pragma once
// Cables and drivers known by name, each figure with its source: the priors of the line fit.

#include <span>
#include <string_view>

namespace pulsewright::analyzer {

struct CableKind {
  std::string_view id, name;
  double z0_ohm, z0_u_ohm;                  ///< characteristic impedance and its standard uncertainty
  double delay_s_per_m, delay_u_s_per_m;    ///< one way
  double loop_ohm_per_m;                    ///< both conductors, direct current, 20 degrees C
  std::string_view source;
  bool published;                           ///< false: estimated from geometry, or quoted from memory
};

struct DriverKind {
  std::string_view id, name;
  double supply_v;                          ///< at which the resistances hold
  double high_ohm, low_ohm, u_ohm;          ///< output resistance of the high and the low side, standard uncertainty of both
  double edge_s;                            ///< 0-100 % transition into a line
  double current_limit_a;                   ///< absolute maximum of one output; 0: not printed
  std::string_view source;
  bool published;
};

/// All kinds known, in the order of the help.
std::span<const CableKind> cable_kinds();

/// All families known, in the order of the help.
std::span<const DriverKind> driver_kinds();

/// Null when nothing is called so; capitals do not matter.
const CableKind* find_cable(std::string_view id);

/// The same for drivers.
const DriverKind* find_driver(std::string_view id);

/// Resistance of both conductors at 1 MHz in ohm per metre, from the direct-current resistance: round copper with the
/// current in a skin of 66 um, times 1.3 for the neighbour's field. Gives 0.42 ohm/m for 24 AWG; the loss limit of category
/// cable at 1 MHz, 2 dB / 100 m (from memory), corresponds to 0.46 ohm/m.
double skin_ohm_per_m_at_1mhz(double loop_ohm_per_m);

}  // namespace pulsewright::analyzer
