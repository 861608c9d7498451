#include "analyzer/verdict/line_shift.hpp"

#include <algorithm>
#include <cmath>

#include "analyzer/line/tables.hpp"
#include "analyzer/verdict/decision.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double kUnknownRoundTrip_s = 300e-9;
constexpr double kDelay_s_per_m = 5.5e-9;  // of a cable of unknown kind: at most, in the cable table

double round_trip_s(const SettingsUsed& settings) {
  if (!settings.length_m) return kUnknownRoundTrip_s;
  const auto* cable = find_cable(settings.cable);
  return 2 * *settings.length_m * (cable ? cable->delay_s_per_m + 2 * cable->delay_u_s_per_m : kDelay_s_per_m);
}

/// Shifts of a high time that are still possible.
struct Shifts {
  double least_s, most_s;
  bool any() const { return least_s <= most_s; }
};

// What brings this width into its window; `sign` is -1 for a pause, which gives what the high takes.
void keep_within(Shifts& shifts, const WidthStatistics& widths, const Window& window, double sign) {
  if (!widths.mean_s) return;
  const double guard_s = kCoverageFactor * widths.mean_s.u;
  double least_s = -1, most_s = 1;
  if (window.min_s) least_s = *window.min_s - *widths.mean_s - guard_s;
  if (window.max_s) most_s = *window.max_s - *widths.mean_s + guard_s;
  if (sign < 0) {
    std::swap(least_s, most_s);
    least_s = -least_s, most_s = -most_s;
  }
  shifts.least_s = std::max(shifts.least_s, least_s);
  shifts.most_s = std::min(shifts.most_s, most_s);
}

bool scatters(const WidthStatistics& widths, const IntervalError& interval) {
  return widths.sd_s && *widths.sd_s > 1.5 * interval.width.single_s;
}

bool a_shift_explains(const Diagnosis& diagnosis, const IntervalError& interval, double longest_s) {
  const auto& pulses = diagnosis.pulses;
  const auto& windows = diagnosis.settings.windows;
  const Shifts possible{-longest_s, longest_s};
  Shifts of_zero = possible, of_one = possible, of_both = possible;
  for (Shifts* shifts : {&of_zero, &of_both}) {
    keep_within(*shifts, pulses.zero.high_width, windows.t0h, 1);
    keep_within(*shifts, pulses.zero.low_width, windows.t0l, -1);
  }
  for (Shifts* shifts : {&of_one, &of_both}) {
    keep_within(*shifts, pulses.one.high_width, windows.t1h, 1);
    keep_within(*shifts, pulses.one.low_width, windows.t1l, -1);
  }
  if (of_both.any()) return true;
  const bool scattered = scatters(pulses.zero.high_width, interval) || scatters(pulses.one.high_width, interval);
  return scattered && of_zero.any() && of_one.any();
}

}  // namespace

std::string widths_moved_by_the_line(const Diagnosis& diagnosis, const IntervalError& interval) {
  const auto& settings = diagnosis.settings;
  if (!diagnosis.capture.logic) return {};
  const bool near = settings.at == ProbePosition::near;
  const bool on_the_pin = near && settings.series_ohm && *settings.series_ohm == 0;
  if (on_the_pin || !a_shift_explains(diagnosis, interval, round_trip_s(settings))) return {};
  return near ? "If the probe sits behind the series resistor, steps of the line may have moved every width there by up to a round trip: "
                "a logic capture cannot tell that from wrong times of the controller."
              : "Whether the controller sends such times or the line makes them of right ones, a logic capture on the line cannot tell.";
}

}  // namespace pulsewright::analyzer
