#include "reports/text/comparison_words.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace pulsewright::reports {

using analyzer::Change;
using analyzer::Difference;

std::string said(Change change) {
  switch (change) {
    case Change::better: return "better";
    case Change::worse: return "worse";
    case Change::no_clear_change: return "no clear change";
    case Change::not_comparable: break;
  }
  return "not comparable";
}

std::string said(const Difference& difference) {
  if (!difference.change) return "cannot tell";
  if (!difference.significant) return "same within uncertainty";
  if (!difference.better) return "changed";
  return *difference.better ? "better" : "worse";
}

std::string_view shown_unit_of(const Difference& difference) {
  if (difference.key == "line.source_ratio") return "1";
  return difference.unit == "1" ? std::string_view("ratio") : std::string_view(difference.unit);
}

std::vector<KeyFigure> key_figures(const analyzer::Comparison& comparison) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 6> keys{
      {{"levels.high_margin_v", "Lowest high above VIH"},
       {"levels.low_margin_v", "Highest low below VIL"},
       {"rising.duration_10_90_s", "Rising edge 10-90 %"},
       {"rising.overshoot_ratio", "Overshoot"},
       {"pulses.zero.high_width_s.mean", "High time of a 0"},
       {"pulses.one.high_width_s.mean", "High time of a 1"}}};
  std::vector<KeyFigure> found;
  for (const auto& [key, name] : keys)
    for (const auto& difference : comparison.differences)
      if (difference.key == key) found.push_back({name, &difference});
  return found;
}

std::string place_in_words(const analyzer::BitDifference& place) {
  return "frame " + std::to_string(place.frame + 1) + ", pixel " + std::to_string(place.pixel + 1) + ", byte " + std::to_string(place.channel + 1) +
         " of the pixel, bit " + std::to_string(place.channel_bit) + ": " + (place.expected ? "1" : "0") + " was read as " + (place.found ? "1" : "0");
}

std::string headline_alone(const analyzer::Comparison& comparison) {
  const auto colon = comparison.headline.find(": ");
  std::string text = colon == std::string::npos ? comparison.headline : comparison.headline.substr(colon + 2);
  const bool name = std::ranges::any_of(comparison.labels, [&](const std::string& label) { return !label.empty() && text.starts_with(label); });
  if (!name && !text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

}  // namespace pulsewright::reports
