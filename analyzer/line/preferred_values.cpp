#include "analyzer/line/preferred_values.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

namespace pulsewright::analyzer {

namespace {

// IEC 60063:2015. Not round(10^(i/24)): history moved eight of them.
constexpr std::array<int, 24> e24{10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                                  33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};
constexpr std::array<int, 12> e12{10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82};

std::span<const int> digits_of(PreferredSeries series) {
  if (series == PreferredSeries::e12) return e12;
  return e24;
}

// Two significant digits and the power of ten that multiplies them.
struct TwoDigits {
  int digits, exponent;
};

TwoDigits two_digits(double ohm) {
  int exponent = static_cast<int>(std::floor(std::log10(ohm) + 1e-9)) - 1;
  int digits = static_cast<int>(std::lround(ohm / std::pow(10.0, exponent)));
  if (digits == 100) digits = 10, ++exponent;
  return {digits, exponent};
}

}  // namespace

std::vector<double> preferred_values(PreferredSeries series, double lowest_ohm, double highest_ohm) {
  std::vector<double> values{0};
  for (int exponent = -2; exponent <= 6; ++exponent) {
    for (const int digits : digits_of(series)) {
      const double ohm = exponent < 0 ? digits / std::pow(10.0, -exponent) : digits * std::pow(10.0, exponent);
      if (ohm >= lowest_ohm * (1 - 1e-9) && ohm <= highest_ohm * (1 + 1e-9)) values.push_back(ohm);
    }
  }
  return values;
}

bool is_preferred(PreferredSeries series, double ohm) {
  if (!(ohm > 0)) return ohm == 0;
  const auto [digits, exponent] = two_digits(ohm);
  if (std::abs(digits * std::pow(10.0, exponent) - ohm) > 1e-6 * ohm) return false;
  const auto values = digits_of(series);
  return std::find(values.begin(), values.end(), digits) != values.end();
}

double nearest_preferred(PreferredSeries series, double ohm) {
  const auto values = preferred_values(series, ohm / 20, ohm * 20);
  return *std::min_element(values.begin() + 1, values.end(), [ohm](double a, double b) {
    return std::abs(std::log(a / ohm)) < std::abs(std::log(b / ohm));
  });
}

std::vector<std::string> colour_bands_5_percent(double ohm) {
  static constexpr std::array<const char*, 10> colours{"black", "brown", "red",    "orange", "yellow",
                                                       "green", "blue",  "violet", "grey",   "white"};
  if (ohm == 0) return {"black"};
  if (!(ohm >= 0.1) || !(ohm <= 99e6)) return {};
  const auto [digits, exponent] = two_digits(ohm);
  if (std::abs(digits * std::pow(10.0, exponent) - ohm) > 1e-6 * ohm) return {};
  const auto multiplier = exponent == -1 ? "gold" : exponent == -2 ? "silver" : colours[static_cast<std::size_t>(exponent)];
  return {colours[static_cast<std::size_t>(digits / 10)], colours[static_cast<std::size_t>(digits % 10)], multiplier, "gold"};
}

}  // namespace pulsewright::analyzer
