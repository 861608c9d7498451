#pragma once
// One line of a belief behind any resistor.

#include <optional>

#include "analyzer/line/margins.hpp"
#include "analyzer/line/sweep.hpp"

namespace pulsewright::analyzer {

/// What the pixel sees behind one resistor: how bits fare, and the step, in service and as a probe and its instrument would show it.
/// Where clamps conduct, the step is that of this swing alone.
struct Behind {
  Margins margins;
  double overshoot = 0, undershoot = 0, duration_s = 0;
  StepResponseGrid service, probed;
  double service_arrival_s = 0, probed_arrival_s = 0;  ///< the middle of what arrives first
};

/// Solves on two grids: a short one for the useful resistors, a long one for the slow rest.
class MemberLine {
 public:
  MemberLine(const LineBelief::Member& member, double probe_f);
  Behind behind(double series_ohm, const BitPattern& pattern, const Receiver& receiver);

 private:
  struct Solved {
    LineGrid grid;
    LineWaves waves;
    LineSpectrum service, probed;
    std::optional<LineSpectrum> bare;  // as probed, without instrument; where clamps ask for it

    Solved(const MemberLine& member, double reach_ohm);
  };

  const Solved& solved(double series_ohm);
  std::vector<double> added_by_clamps(const std::vector<double>& far_v, double step_s, const LineParameters& line, double series_ohm) const;
  StepResponseGrid clamped(StepResponseGrid shown, const std::vector<double>& far_step, const LineParameters& line, double series_ohm) const;

  const LineBelief::Member& m_;
  LineParameters probed_;
  double split_ohm_;
  std::optional<Solved> fast_, slow_;
};

}  // namespace pulsewright::analyzer
