#include "reports/text/check_words.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <optional>

#include "reports/quantity.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::Check;
using analyzer::Outcome;

/// Distance from the nearer limit, above 0 inside; missing without value or limit.
std::optional<double> margin(const Check& check) {
  if (!check.value || (!check.limit_low && !check.limit_high)) return std::nullopt;
  double smallest = std::numeric_limits<double>::infinity();
  if (check.limit_low) smallest = std::min(smallest, *check.value - *check.limit_low);
  if (check.limit_high) smallest = std::min(smallest, *check.limit_high - *check.value);
  return smallest;
}

/// The same as a part of the limits' size, so that volts and seconds can be ranked together.
double ranked_margin(const Check& check) {
  const auto distance = margin(check);
  if (!distance) return std::numeric_limits<double>::infinity();
  const double size = std::max(std::abs(check.limit_low.value_or(0)), std::abs(check.limit_high.value_or(0)));
  return size > 0 ? *distance / size : *distance;
}

}  // namespace

std::string spoken(Outcome outcome) {
  return outcome == Outcome::cannot_tell ? "cannot tell" : std::string(analyzer::to_string(outcome));
}

std::string shouted(Outcome outcome) {
  std::string made = spoken(outcome);
  for (char& c : made)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return made;
}

std::string limits_in_words(const Check& check) {
  if (check.limit_low && check.limit_high)
    return quantity(*check.limit_low, check.unit) + " to " + quantity(*check.limit_high, check.unit);
  if (check.limit_low) return "at least " + quantity(*check.limit_low, check.unit);
  if (check.limit_high) return "at most " + quantity(*check.limit_high, check.unit);
  return {};
}

std::string margin_in_words(const Check& check) {
  const auto distance = margin(check);
  if (!distance) return {};
  if (*distance == 0) return *check.value == 0 ? "none found" : "exactly on the limit";
  const bool counted = check.unit == "1" && *distance == std::round(*distance);
  const std::string amount = quantity(std::abs(*distance), check.unit, counted ? 9 : 2);
  const std::string trust = std::abs(*distance) < 2 * check.value.u ? ", less than the uncertainty" : "";
  if (*distance > 0) return amount + " to spare" + trust;
  const bool below = check.limit_low && *check.value < *check.limit_low;
  return amount + (below ? " too little" : " too much") + trust;
}

std::vector<const Check*> checks_with(const analyzer::Diagnosis& diagnosis, Outcome outcome, bool advisory) {
  std::vector<const Check*> found;
  for (const auto& check : diagnosis.checks)
    if (check.result == outcome && check.advisory == advisory) found.push_back(&check);
  std::stable_sort(found.begin(), found.end(),
                   [](const Check* a, const Check* b) { return ranked_margin(*a) < ranked_margin(*b); });
  return found;
}

std::string evidence_in_words(const analyzer::Cause& cause) {
  std::string made;
  for (const auto& [key, value] : cause.evidence) {
    if (!value) continue;
    KeyMeaning meaning = meaning_of(key);
    if (key == "source_ratio") meaning = {"source resistance over Z0", "1"};
    made += (made.empty() ? "" : ", ") + one_line(meaning.words) + " " + quantity(value, meaning.unit);
  }
  return made;
}

std::string channel_in_words(std::string_view name, std::size_t longest) {
  const std::string shown = one_line(name, longest);
  return shown.starts_with("channel") || shown.starts_with("Channel") ? shown : "channel " + shown;
}

std::string part_in_words(const analyzer::Suggestion& suggestion) {
  if (!suggestion.series_ohm) return {};
  std::string made = *suggestion.series_ohm == 0 ? "a wire link (0 Ω)" : resistance(*suggestion.series_ohm);
  if (*suggestion.series_ohm == 0) return made;
  for (std::size_t i = 0; i < suggestion.colour_bands.size(); ++i)
    made += (i == 0 ? ", bands " : " ") + suggestion.colour_bands[i];
  return made;
}

void FiguresWithout::add(std::string name, const std::string& reason) {
  auto& names = names_[reason];
  if (!names.empty()) name.front() = static_cast<char>(std::tolower(static_cast<unsigned char>(name.front())));
  names += (names.empty() ? "" : "; ") + name;
}

std::vector<std::string> FiguresWithout::lines() const {
  std::vector<std::string> lines;
  for (const auto& [reason, names] : names_) lines.push_back(names + ": " + reason);
  return lines;
}

}  // namespace pulsewright::reports
