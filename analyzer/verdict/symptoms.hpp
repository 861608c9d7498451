#pragma once
// What figures and checks say together before any cause is named.

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/diagnosis.hpp"
#include "analyzer/verdict/checks.hpp"

namespace pulsewright::analyzer {

constexpr double slow_edge_s = 90e-9;  ///< common practice, no source: a tenth of a bit at 800 kbit/s is done by then

struct Symptoms {
  Measured slowest = Measured::none("no duration measured");    ///< the longer 10-90 % duration, s
  Measured overshoot = Measured::none("no overshoot measured");  ///< the line's own, part of the swing
  double slowest_s = 0, overshoot_ratio = 0;                     ///< their values, 0 where there are none
  bool probe_rings = false;
  bool slow = false;             ///< edges of `slow_edge_s` at least, or such that the next one overtakes
  bool unsettled = false;        ///< the line comes to its levels after the longest pulses only, if ever
  bool rings_hard = false;       ///< far beyond both rails
  bool wanders_at_rest = false;  ///< the low level of pauses, which neither bits nor the line move
};

/// Reads the checks and figures of `diagnosis`.
Symptoms symptoms_of(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness);

}  // namespace pulsewright::analyzer
