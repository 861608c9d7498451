#pragma once
// How far a waveform at the pixel stays from trouble.

#include <span>
#include <string>
#include <vector>

#include "analyzer/line/fold.hpp"
#include "analyzer/line/line_model.hpp"

namespace pulsewright::analyzer {

/// Limits of the pixel that receives.
struct Receiver {
  double vih_v = 3.5, vil_v = 1.5, supply_v = 5;
  TimingWindows windows;
};

/// Bits that hold every run of three after a pause: worst cases of intersymbol interference on a line that settles within
/// two bits.
struct BitPattern {
  std::vector<SourceEdge> edges;
  std::vector<bool> bits;
  BitTimes times;
  double end_s = 0;
};
BitPattern worst_case_pattern(const BitTimes& times);

enum class Criterion { high_level, low_level, width, overstress };

/// Each margin is 1 for an ideal waveform and 0 at the limit.
struct Margins {
  double high = 1;     ///< level held after the crossing of VIH, ring-back and staircase included, above VIH
  double low = 1;      ///< the same below VIL
  double width = 1;    ///< change of any pulse's width, at VIL or VIH, against the room that the window leaves its source
  double stress = 1;   ///< extremes within VDD + 0.5 V and -0.5 V (absolute maximum of the input)
  double high_v = 0, low_v = 0;   ///< margins of the levels in volts
  double peak_v = 0, trough_v = 0;
  double zero_width_s = 0, one_width_s = 0;  ///< high widths at the middle of VIL and VIH, worst
  Criterion limited_by = Criterion::high_level;

  double functional() const;
  /// functional() and stress together; beyond the absolute maximum it is half the excess, -0.5 at most, since clamps carry
  /// it for a while: such a line works today and ages the input.
  double all() const;
};

/// Judges the waveform of a pattern on an even grid. `arrival_s`: delay from a source edge to the first sign of it.
Margins judge_waveform(std::span<const double> volts, double first_s, double step_s, const BitPattern& pattern, double arrival_s,
                       double low_state_v, double high_state_v, const Receiver& receiver);

std::string to_words(Criterion criterion);

}  // namespace pulsewright::analyzer
