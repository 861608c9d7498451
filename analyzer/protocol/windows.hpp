#pragma once
// Timing windows of the pixel chips as data, each with its source.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace pulsewright::analyzer {

/// A duration window in seconds. A side that the datasheet does not print is missing.
struct Window {
  std::optional<double> min_s, nominal_s, max_s;

  /// The nominal time, else the middle of the window, else the one side there is. Not for an empty window.
  double typical_s() const;
  bool empty() const { return !min_s && !nominal_s && !max_s; }
};

/// How the receiver's input levels are printed.
struct InputLevels {
  enum class Basis { fraction_of_supply, volts, high_fraction_low_volts, not_printed };
  double vih = 0.7, vil = 0.3;  ///< `not_printed`: the usual CMOS 0.7 and 0.3 of the supply are assumed
  Basis basis = Basis::not_printed;

  double vih_v(double supply_v) const;
  double vil_v(double supply_v) const;
};

/// One chip in one edition of its datasheet.
struct TimingWindows {
  std::string id;       ///< e.g. "ws2812b-800k-2013-05"; lower case, unique
  std::string chip;     ///< "WS2812B"
  std::string edition;  ///< "800k, 2013-05"
  Window t0h, t1h, t0l, t1l;
  std::optional<double> period_s, period_tolerance_s;
  std::optional<double> latch_gap_min_s;  ///< the datasheet's reset time
  unsigned bits_per_pixel = 24;
  bool inverted = false;  ///< idle high, the active pulse is LOW; t0h and t1h are then widths of the LOW pulse
  InputLevels levels;
  std::string source;  ///< published source
  bool seen = true;    ///< read in the datasheet itself, else quoted from second hand or memory
};

/// What a chip was measured to accept, kept apart from the datasheet.
struct MeasuredAcceptance {
  std::string chip;
  std::optional<double> zero_max_s;         ///< longest high time still taken as 0
  std::optional<double> one_min_s;          ///< shortest high time already taken as 1
  std::optional<double> latch_gap_s;        ///< shortest gap that latched
  std::optional<double> shortest_period_s;  ///< of rising edges that the chip still followed
  std::string source;
};

/// Every chip and edition of a datasheet known, times in seconds, each with its source.
std::span<const TimingWindows> built_in_windows();

/// What such chips were measured to accept, apart from what their datasheets say.
std::span<const MeasuredAcceptance> measured_acceptance();

/// The entry with this id, or the default edition of a chip named without one ("WS2812B"); own entries first. Null when
/// nothing is called so. Capitals do not matter.
const TimingWindows* find_windows(std::string_view id_or_chip, std::span<const TimingWindows> own);

/// Chip members of one family cannot be told apart by timing; without a stated chip this entry is used at 800 kbit/s.
inline constexpr std::string_view kDefaultWindowsId = "ws2812b-800k-union";

/// What chips of this name were measured to accept; empty for a chip that nobody published figures for.
std::vector<MeasuredAcceptance> measured_for(std::string_view chip);

/// Own timing windows from a text. One `[id]` a chip, then `key = value` lines; `#` starts a comment:
///
///     [footbridge-800k]
///     chip = Footbridge pixel          # default: the id
///     edition = bench, second batch
///     t0h_ns = 220 - 380               # min nominal max; "-" leaves one open
///     t1h_ns = 580 800 1000
///     t0l_ns = 580 - -
///     t1l_ns = 220 - -
///     period_ns = 1250
///     period_tolerance_ns = 150
///     latch_us = 280
///     bits_per_pixel = 24
///     idle = low                       # or high: t0h_ns and t1h_ns are then widths of the LOW pulse
///     vih = 0.7 supply                 # or "3.5 V"
///     vil = 0.3 supply
///     source = measured on the bench
///
/// t0h_ns and t1h_ns are required. Throws importers::ImportError with the line, what belongs there and what was found.
std::vector<TimingWindows> parse_windows(std::string_view text, std::string_view name);

}  // namespace pulsewright::analyzer
