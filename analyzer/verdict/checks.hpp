#pragma once
// One question each, with a limit, its source and a guard-banded answer.

#include <string>
#include <string_view>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "analyzer/protocol/classify.hpp"
#include "analyzer/protocol/pulse_statistics.hpp"
#include "analyzer/pulse/near_step.hpp"

namespace pulsewright::analyzer {

/// What checks and causes need beyond the figures of the diagnosis.
struct Observations {
  IntervalError interval;  ///< of one measured interval
  IdleState idle = IdleState::unknown;
  bool active_low = false;  ///< pulses were read as LOW pulses
  WidthShape shape;
  bool is_pixel_data = true;
  bool garbled = false;  ///< the line rings through the thresholds or does not get from state to state: pulses are its own work
  std::string protocol_why;                     ///< how the windows were chosen
  const TimingWindows* fits_instead = nullptr;  ///< built-in entry that the pulses fit while the chosen one they do not
  std::size_t odd_frames = 0;                   ///< complete frames unlike two neighbours that are alike
  std::size_t complete_frames = 0;
  std::size_t frames_with_leftover = 0;  ///< complete ones
  // What the capture cannot show; empty where it can.
  std::string no_voltages_because, no_edges_because, no_timing_because;
  bool probe_rings = false;             ///< peaks and returns after an edge are the probe's own
  NearStep near_step;  ///< set for a capture at the controller's end whose edges dwell
  /// Set where the widths of a logic capture may be the line's doing: widths_moved_by_the_line().
  std::string widths_by_place_because;
  std::string not_as_received_because;  ///< at this point of the line no chip would see these levels and widths
};

/// All checks in the order in which a reader wants them: levels, excursions, edges, widths, frames, softer ones.
std::vector<Check> run_checks(const Diagnosis& diagnosis, const Observations& seen);

/// The check of this id, or null.
const Check* find_check(const std::vector<Check>& checks, std::string_view id);

}  // namespace pulsewright::analyzer
