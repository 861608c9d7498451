#pragma once
// Figures as they stand inside a sentence of a check or cause. Tables of figures are the reports' business.

#include <string>

#include "analyzer/measured.hpp"

namespace pulsewright::analyzer::phrases {

std::string volts(double value);                                           ///< "3.31 V"
std::string seconds(double value);                                         ///< "412 ns", "1.25 us", "300 us", "2.1 ms"
/// No finer than the leading digit of the expanded uncertainty (k = 2): "430 ns" for 427 ns with 15 ns. Needs a value.
std::string volts(const Measured& value);
std::string seconds(const Measured& value);
std::string megahertz(double hertz);                                       ///< "3.2 MHz"
std::string ratio_percent(double ratio);                                   ///< "24 %"
std::string ohms(double ohm);                                              ///< "82 ohm"
std::string count(std::size_t number, const char* one, const char* many);  ///< "1 pulse", "3 pulses"

}  // namespace pulsewright::analyzer::phrases
