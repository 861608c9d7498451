#include "analyzer/diagnose/odd_pulses.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace pulsewright::analyzer {

namespace {

constexpr double sliver_s = 130e-9;
constexpr double pause_s = 10e-6;  // no bit of a pixel chip is as long

// One part in `parts` lies below.
double lowest_part(std::vector<double>& values, std::size_t parts) {
  const auto rank = values.begin() + static_cast<std::ptrdiff_t>(values.size() / parts);
  std::nth_element(values.begin(), rank, values.end());
  return *rank;
}

}  // namespace

bool holds_slivers(std::span<const Transition> transitions) {
  std::size_t slivers = 0, frames = 1;
  for (std::size_t i = 1; i < transitions.size(); ++i) {
    const double width_s = transitions[i].mid_s - transitions[i - 1].mid_s;
    if (width_s < sliver_s) ++slivers;
    if (width_s > pause_s) ++frames;
  }
  return 50 * slivers > transitions.size() || (slivers > 1 && slivers >= frames);
}

bool joins_bits(std::span<const Transition> transitions, std::optional<double> wanted_period_s) {
  std::vector<double> highs, lows;
  for (std::size_t i = 1; i < transitions.size(); ++i) {
    const double width_s = transitions[i].mid_s - transitions[i - 1].mid_s;
    if (!transitions[i].rising) highs.push_back(width_s);
    else if (width_s < pause_s) lows.push_back(width_s);
  }
  if (lows.empty() || highs.size() < 16) return false;
  const double shortest_s = lowest_part(highs, 10), period_s = shortest_s + lowest_part(lows, 2);
  if (std::abs(period_s / wanted_period_s.value_or(period_s) - 1) > 0.1) return false;
  std::size_t single = 0, joined = 0;
  for (const double width_s : highs) {
    const double bits = (width_s - shortest_s) / period_s, whole = std::round(bits);
    // What the grid of the probe's clock leaves in the period adds up along the bits.
    if (std::abs(bits - whole) < 0.05 * (whole + 2)) ++(whole > 0 ? joined : single);
  }
  return 50 * joined > highs.size() && 10 * (single + joined) > 9 * highs.size();
}

}  // namespace pulsewright::analyzer
