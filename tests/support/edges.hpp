#pragma once
// Transitions of ideal pulses, for tests that start behind the edge search.

#include <vector>

#include "analyzer/pulse/transition.hpp"

namespace pulsewright::edges {

struct BitTimes {
  double t0h_s = 400e-9, t0l_s = 850e-9, t1h_s = 800e-9, t1l_s = 450e-9;
};

/// Appends frames of bits with a pause of `gap_s` before each, beginning at `t_s`; returns the end of the last low.
inline double append_bits(std::vector<analyzer::Transition>& edges, double t_s, const std::vector<bool>& bits,
                          const BitTimes& times = {}, bool active_low = false) {
  const auto edge = [&](double at_s, bool rising) {
    analyzer::Transition transition;
    transition.mid_s = at_s;
    transition.rising = rising != active_low;
    transition.vil_offset_s = transition.rising ? -2e-9f : 2e-9f;
    transition.vih_offset_s = transition.rising ? 2e-9f : -2e-9f;
    edges.push_back(transition);
  };
  for (const bool bit : bits) {
    edge(t_s, true);
    t_s += bit ? times.t1h_s : times.t0h_s;
    edge(t_s, false);
    t_s += bit ? times.t1l_s : times.t0l_s;
  }
  return t_s;
}

}  // namespace pulsewright::edges
