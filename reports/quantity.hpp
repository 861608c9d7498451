#pragma once
// The only place with SI prefixes, percent and significant digits. Text is UTF-8: "µ", "Ω", "±", "−"; one plain space
// between number and unit. Independent of the locale.

#include <string>
#include <string_view>

#include "analyzer/measured.hpp"

namespace pulsewright::reports {

/// "412 ns", "4.7 kΩ", "800 kHz", "−0.4 V". `unit` is one of the diagnosis: "V", "s", "Hz", "ohm", "F", "m", "dB", "bit",
/// "1" (a plain number), "ratio" (shown in percent). dB, bit and 1 take no prefix; a metre only the small ones.
std::string quantity(double value, std::string_view unit, int significant_digits = 3);

/// Value and expanded uncertainty (k = 2) with matching decimals: "412 ns ± 6 ns". Without uncertainty, or with one below
/// 2e-6 of the value, the value alone; without value the reason.
std::string quantity(const analyzer::Measured& measured, std::string_view unit);

/// The same for a figure that cannot be below zero: "at most 110 ns" where the uncertainty reaches there.
std::string never_negative(const analyzer::Measured& measured, std::string_view unit);

/// "13 %"
std::string percent(double ratio, int significant_digits = 2);

/// A plain number, no unit: "0.25", "12", "−3.1".
std::string number(double value, int significant_digits = 3);

/// A resistor as it is written in text: "220 Ω", "4.7 kΩ".
std::string resistance(double ohm);

/// What a key of the result says: "overshoot_ratio" is {"overshoot", "ratio"}, "delay_s" is {"delay", "s"}, "bits" is
/// {"bits", "1"}.
struct KeyMeaning {
  std::string words;
  std::string unit;
};
KeyMeaning meaning_of(std::string_view key);

/// "V", "Ω", "%": the unit as shown.
std::string shown_unit(std::string_view unit);

/// Scale for one axis or column, chosen by its largest magnitude: a value times `factor` is in `unit`.
struct Scale {
  double factor = 1;
  std::string unit;  ///< with prefix: "ns"
};
Scale scale_for(double largest, std::string_view unit);

}  // namespace pulsewright::reports
