#include "analyzer/verdict/phrases.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace pulsewright::analyzer::phrases {

namespace {

std::string fixed(double value, int decimals) {
  char text[400];
  const auto end = std::to_chars(text, text + sizeof text, value, std::chars_format::fixed, decimals).ptr;
  return {text, end};
}

std::string significant(double value, int digits) {
  if (value == 0) return "0";
  const int whole = static_cast<int>(std::floor(std::log10(std::abs(value)))) + 1;
  return fixed(value, std::max(0, digits - whole));
}

// The leading decimal place of the expanded uncertainty, as a power of ten; 0 without one.
double last_place(const Measured& value) {
  return value.u > 0 ? std::pow(10, std::floor(std::log10(2 * value.u))) : 0;
}

double rounded(const Measured& value) {
  const double place = last_place(value);
  return place > 0 ? std::round(*value / place) * place : *value;
}

}  // namespace

std::string volts(const Measured& value) {
  return fixed(rounded(value), last_place(value) > 0.05 ? 1 : 2) + " V";
}

std::string seconds(const Measured& value) {
  return seconds(rounded(value));
}

std::string volts(double value) {
  return fixed(value, 2) + " V";
}

std::string seconds(double value) {
  const double size = std::abs(value);
  if (size < 999.5e-9) return significant(value * 1e9, size < 10e-9 ? 2 : 3) + " ns";
  if (size < 999.5e-6) return significant(value * 1e6, 3) + " us";
  if (size < 0.9995) return significant(value * 1e3, 3) + " ms";
  return significant(value, 3) + " s";
}

std::string megahertz(double hertz) {
  return significant(hertz * 1e-6, 3) + " MHz";
}
std::string ratio_percent(double ratio) {
  return significant(ratio * 100, 2) + " %";
}
std::string ohms(double ohm) {
  return significant(ohm, 2) + " ohm";
}

std::string count(std::size_t number, const char* one, const char* many) {
  return std::to_string(number) + " " + (number == 1 ? one : many);
}

}  // namespace pulsewright::analyzer::phrases
