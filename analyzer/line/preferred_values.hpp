#pragma once
// Preferred resistor values (IEC 60063) and their colour bands (IEC 60062).

#include <string>
#include <vector>

namespace pulsewright::analyzer {

enum class PreferredSeries { e12, e24 };

/// 0 ohm (a link) and every value of the series from `lowest_ohm` to `highest_ohm`, ascending.
std::vector<double> preferred_values(PreferredSeries series, double lowest_ohm = 1, double highest_ohm = 1000);

bool is_preferred(PreferredSeries series, double ohm);

/// The value of the series with the nearest logarithm; `ohm` must be above 0.
double nearest_preferred(PreferredSeries series, double ohm);

/// Four bands of a 5 % part: two digits, multiplier, tolerance (IEC 60062:2016). A link of 0 ohm carries one black band.
/// Empty where two digits cannot write the value or it lies outside 0.1 ohm to 99 Mohm.
std::vector<std::string> colour_bands_5_percent(double ohm);

}  // namespace pulsewright::analyzer
