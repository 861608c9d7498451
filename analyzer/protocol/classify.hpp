#pragma once
// From transitions to bits: which pulse is a 0, which a 1, and which protocol it may be.

#include <cmath>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "analyzer/protocol/windows.hpp"
#include "analyzer/pulse/transition.hpp"

namespace pulsewright::analyzer {

/// One active pulse (high; on chips that idle high the LOW pulse) and the pause after it. Widths are between crossings
/// of the mid level, and between crossings of VIL and of VIH: the receiver's threshold lies between. NaN: not reached.
struct BitPulse {
  double start_s = 0;
  float width_s = 0;
  float at_vil_s = std::numeric_limits<float>::quiet_NaN();
  float at_vih_s = std::numeric_limits<float>::quiet_NaN();
  float pause_s = std::numeric_limits<float>::quiet_NaN();  ///< to the next pulse; NaN after the last one
  float pause_at_vil_s = std::numeric_limits<float>::quiet_NaN();
  float pause_at_vih_s = std::numeric_limits<float>::quiet_NaN();
  bool one = false;
  bool undecided = false;  ///< in neither class
  bool first_after_idle = false;
};

/// Pairs leading and trailing edges. A pulse that the record cuts is left out.
std::vector<BitPulse> extract_pulses(std::span<const Transition> transitions, bool active_low);

enum class IdleState { low, high, unknown };

/// Where the line rests: the state during the longest stretch without an edge if it is far longer than a bit; else the
/// polarity whose edges come at equal distances, because a bit starts with its leading edge at a steady rate.
IdleState idle_state(std::span<const Transition> transitions, double record_start_s, double record_end_s);

/// What the widths look like without any windows.
struct WidthShape {
  std::size_t pulses = 0;
  double period_s = 0;             ///< median distance of leading edges, pauses left out; 0 with fewer than two pulses
  double steady_ratio = 0;         ///< share of these distances within a quarter of the median
  bool two_classes = false;        ///< the widths fall into two clusters well apart
  double short_s = 0, long_s = 0;  ///< means of the clusters; equal when there is one
  double spread_s = 0;             ///< mean standard deviation within the clusters
  double boundary_s = 0;           ///< between the clusters; 0 when there is one
};

WidthShape width_shape(std::span<const BitPulse> pulses);

/// Which built-in windows the pulses fit when none were stated.
struct ProtocolGuess {
  TimingWindows windows;
  bool is_pixel_data = true;  ///< false: no bit period or pulse pair of any known chip
  std::string why;            ///< plain words, says what cannot be told apart
};

ProtocolGuess infer_protocol(const WidthShape& shape, bool active_low);

/// Whether both clusters (or the one there is) lie in the high-time windows, widened by `slack_s` on each side.
bool high_times_fit(const WidthShape& shape, const TimingWindows& windows, double slack_s);

/// Another built-in entry whose period and high times the pulses fit, or null. `active_low` is the polarity found.
const TimingWindows* fitting_windows(const WidthShape& shape, bool active_low, double slack_s);

/// Sets `one` and `undecided` of each pulse: by the clusters of the capture where there are two, else by the middle
/// between the windows. Undecided is a pulse in the middle third between the classes, or one that no class explains.
void classify(std::vector<BitPulse>& pulses, const WidthShape& shape, const TimingWindows& windows);

}  // namespace pulsewright::analyzer
