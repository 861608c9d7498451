#pragma once
// Figures as they stand inside a sentence of a check or cause. Tables of figures are the reports' business.

#include <string>

namespace pulsewright::analyzer::phrases {

std::string volts(double volts);                                           ///< "3.31 V"
std::string seconds(double seconds);                                       ///< "412 ns", "1.25 us", "300 us", "2.1 ms"
std::string megahertz(double hertz);                                       ///< "3.2 MHz"
std::string ratio_percent(double ratio);                                   ///< "24 %"
std::string ohms(double ohm);                                              ///< "82 ohm"
std::string count(std::size_t number, const char* one, const char* many);  ///< "1 pulse", "3 pulses"

}  // namespace pulsewright::analyzer::phrases
