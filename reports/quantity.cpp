#include "reports/quantity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace pulsewright::reports {

namespace {

struct Prefix {
  int exponent;
  std::string_view symbol;
};
constexpr std::array<Prefix, 9> kPrefixes{{{-15, "f"}, {-12, "p"}, {-9, "n"}, {-6, "µ"}, {-3, "m"}, {0, ""}, {3, "k"},
                                           {6, "M"}, {9, "G"}}};

bool takes_prefix(std::string_view unit) {
  return unit != "1" && unit != "dB" && unit != "ratio" && unit != "bit" && !unit.empty();
}

/// Position of the leading digit, after rounding to the wanted digits: 9.996 with three digits leads at 1.
int leading_exponent(double value, int digits) {
  const int first = static_cast<int>(std::floor(std::log10(std::abs(value))));
  const double rounded = std::round(std::abs(value) * std::pow(10, digits - 1 - first));
  return rounded >= std::pow(10, digits) ? first + 1 : first;
}

Prefix prefix_for(double value, std::string_view unit, int digits) {
  if (value == 0 || !std::isfinite(value) || !takes_prefix(unit)) return {0, ""};
  const int largest = unit == "m" ? 0 : 9;
  const int third = static_cast<int>(std::floor(leading_exponent(value, digits) / 3.0)) * 3;
  const int exponent = std::clamp(third, -15, largest);
  return *std::find_if(kPrefixes.begin(), kPrefixes.end(), [&](const Prefix& p) { return p.exponent == exponent; });
}

std::string with_decimals(double value, int decimals) {
  std::string text;
  if (decimals < 0) {
    const double step = std::pow(10, -decimals);
    text = fmt::format("{:.0f}", std::round(value / step) * step);
  } else {
    text = fmt::format("{:.{}f}", value, std::min(decimals, 12));
  }
  if (!text.starts_with('-')) return text;
  if (text.find_first_of("123456789") == std::string::npos) return text.substr(1);
  return "−" + text.substr(1);
}

std::string without_idle_zeros(std::string text) {
  if (text.find('.') == std::string::npos) return text;
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string joined(const std::string& value, const std::string& unit) { return unit.empty() ? value : value + " " + unit; }

// Below this part of the value an uncertainty would only add digits that nobody reads.
constexpr double kShownUncertainty = 2e-6;

struct SpecialKey {
  std::string_view key, words, unit;
};

// Keys whose words alone would not be understood.
constexpr std::array<SpecialKey, 11> kSpecialKeys{{{"duration_10_90_s", "10–90 % duration", "s"},
                                                  {"source_ratio", "source resistance over Z0", "1"},
                                                  {"source_ohm", "source resistance", "ohm"},
                                                  {"sd_s", "standard deviation", "s"},
                                                  {"high_plateau_min_v", "lowest settled high", "V"},
                                                  {"low_plateau_max_v", "highest settled low", "V"},
                                                  {"high_v", "high level", "V"},
                                                  {"low_v", "low level", "V"},
                                                  {"vih_v", "VIH", "V"},
                                                  {"vil_v", "VIL", "V"},
                                                  {"latch_gap_min_s", "shortest latch gap", "s"}}};

/// Decimals that show an uncertainty with one digit, or two where the first is 1 or 2: one would round too coarsely.
int decimals_of(double expanded) {
  const int leader = leading_exponent(expanded, 2);
  return (expanded < 3 * std::pow(10, leader) ? 1 : 0) - leader;
}

}  // namespace

std::string shown_unit(std::string_view unit) {
  if (unit == "ohm") return "Ω";
  if (unit == "ratio") return "%";
  if (unit == "1") return "";
  return std::string(unit);
}

std::string number(double value, int significant_digits) {
  if (value == 0) return "0";
  if (!std::isfinite(value)) return "not a number";
  return without_idle_zeros(with_decimals(value, significant_digits - 1 - leading_exponent(value, significant_digits)));
}

std::string quantity(double value, std::string_view unit, int significant_digits) {
  if (unit == "ratio") return joined(number(value * 100, significant_digits), "%");
  const Prefix prefix = prefix_for(value, unit, significant_digits);
  return joined(number(value / std::pow(10, prefix.exponent), significant_digits),
                std::string(prefix.symbol) + shown_unit(unit));
}

std::string quantity(const analyzer::Measured& measured, std::string_view unit) {
  if (!measured) return measured.missing.empty() ? "not measured" : measured.missing;
  const double expanded = 2 * measured.u;
  if (!(expanded > 0) || !std::isfinite(expanded)) return quantity(*measured, unit);
  if (expanded < kShownUncertainty * std::abs(*measured)) return quantity(*measured, unit, 6);
  const double leader = std::max(std::abs(*measured), expanded);
  Prefix prefix = prefix_for(leader, unit, 3);
  if (takes_prefix(unit) && prefix.exponent < kPrefixes.back().exponent) {
    const double factor = std::pow(10, -prefix.exponent);
    const double step = std::pow(10, -decimals_of(expanded * factor));
    if (std::round(leader * factor / step) * step >= 1000) prefix = prefix_for(1000 / factor, unit, 3);  // 996 ± 200 rounds to 1000
  }
  const double factor = unit == "ratio" ? 100 : std::pow(10, -prefix.exponent);
  const int decimals = decimals_of(expanded * factor);
  const std::string shown = std::string(prefix.symbol) + shown_unit(unit);
  return joined(with_decimals(*measured * factor, decimals), shown) + " ± " +
         joined(with_decimals(expanded * factor, decimals), shown);
}

std::string never_negative(const analyzer::Measured& measured, std::string_view unit) {
  if (!measured || !std::isfinite(measured.u) || measured.u <= 0 || *measured > 2 * measured.u) return quantity(measured, unit);
  return "at most " + quantity(std::max(*measured, 0.0) + 2 * measured.u, unit, 2);
}

std::string percent(double ratio, int significant_digits) { return quantity(ratio, "ratio", significant_digits); }

std::string resistance(double ohm) { return quantity(ohm, "ohm", 3); }

KeyMeaning meaning_of(std::string_view key) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 10> units{{{"_v_per_s", "V/s"},
                                                                                 {"_ratio", "ratio"},
                                                                                 {"_ohm", "ohm"},
                                                                                 {"_hz", "Hz"},
                                                                                 {"_db", "dB"},
                                                                                 {"_s", "s"},
                                                                                 {"_v", "V"},
                                                                                 {"_f", "F"},
                                                                                 {"_m", "m"},
                                                                                 {"_bits", "1"}}};
  for (const auto& [special, words, unit] : kSpecialKeys)
    if (key == special) return {std::string(words), std::string(unit)};
  KeyMeaning meaning{std::string(key), "1"};
  for (const auto& [ending, unit] : units) {
    if (!key.ends_with(ending)) continue;
    meaning.unit = unit;
    if (ending != "_bits") meaning.words = key.substr(0, key.size() - ending.size());
    break;
  }
  std::replace(meaning.words.begin(), meaning.words.end(), '_', ' ');
  return meaning;
}

Scale scale_for(double largest, std::string_view unit) {
  if (unit == "ratio") return {100, "%"};
  const Prefix prefix = prefix_for(largest, unit, 3);
  return {std::pow(10, -prefix.exponent), std::string(prefix.symbol) + shown_unit(unit)};
}

}  // namespace pulsewright::reports
