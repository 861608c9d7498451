#include <cmath>

#include "analyzer/line/fit.hpp"
#include "analyzer/line/tables.hpp"

namespace pulsewright::analyzer {

namespace {

void take_cable(LinePriors& priors, const Settings& stated) {
  const CableKind* cable = stated.cable ? find_cable(*stated.cable) : nullptr;
  if (cable == nullptr) {
    priors.assumed.push_back("cable not stated: characteristic impedance taken as 100 ohm give or take 20");
    if (stated.length_m) priors.assumed.push_back("cable not stated: 5.2 ns of delay a metre, give or take 0.4");
    return;
  }
  priors.z0_ohm = {cable->z0_ohm, std::max(cable->z0_u_ohm, 0.04 * cable->z0_ohm)};
  priors.delay_s_per_m = cable->delay_s_per_m, priors.delay_u_s_per_m = cable->delay_u_s_per_m;
  priors.loop_ohm_per_m = cable->loop_ohm_per_m, priors.loop_log_sd = 0.25;
  if (!cable->published) priors.assumed.push_back("impedance of this cable is an estimate from its geometry");
}

void take_driver(LinePriors& priors, const Settings& stated) {
  const DriverKind* driver = stated.driver ? find_driver(*stated.driver) : nullptr;
  if (driver != nullptr) {
    priors.driver_ohm = {(driver->high_ohm + driver->low_ohm) / 2, driver->u_ohm};
    priors.edge_s = driver->edge_s;
    if (!driver->published) priors.assumed.push_back("output resistance of this driver is from memory");
  }
  if (stated.driver_ohm) priors.driver_ohm = {*stated.driver_ohm, std::max(1.0, 0.1 * *stated.driver_ohm)};
  if (driver == nullptr && !stated.driver_ohm)
    priors.assumed.push_back("driver not stated: output resistance taken as 30 ohm give or take 15");
}

void take_instrument(LinePriors& priors, const Settings& stated, double probe_factor) {
  if (stated.bandwidth_hz) {
    priors.bandwidth_hz = *stated.bandwidth_hz, priors.bandwidth_log_sd = 0.1;
  } else {
    priors.assumed.push_back("bandwidth not stated: 70 MHz, within a factor of 2");
  }
  // 10 Mohm and 10 to 15 pF for a divider probe, about 100 pF for a direct one (makers' usual figures; from memory).
  priors.probe_f = probe_factor < 5 ? 100e-12 : probe_factor < 50 ? 12e-12 : 4e-12;
}

}  // namespace

LinePriors priors_from(const Settings* stated, const SettingsUsed* used) {
  LinePriors priors;
  const Settings nothing;
  const auto& s = stated != nullptr ? *stated : nothing;
  priors.supply_v = used != nullptr ? used->supply_v : s.supply_v.value_or(5);
  take_cable(priors, s);
  if (s.length_m && *s.length_m > 0) priors.length_m = *s.length_m;
  take_driver(priors, s);
  if (s.series_ohm) {
    priors.series_ohm = *s.series_ohm;
  } else {
    priors.assumed.push_back("series resistor fitted now not stated: only the sum of driver and resistor is found");
  }
  take_instrument(priors, s, used != nullptr ? used->probe_factor : s.probe_factor.value_or(10));
  priors.assumed.push_back("input capacitance of the pixel about 11 pF (data sheets: 15 pF at most)");
  return priors;
}

}  // namespace pulsewright::analyzer
