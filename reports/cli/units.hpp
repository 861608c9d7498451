#pragma once
// Quantities as people type them. Independent of the locale; nothing is guessed: what has two readings is refused.
//
// A number is digits with an optional decimal point and exponent, without a sign. One space may stand before the unit.
// Each function throws UnitError with what belongs there, e.g. `a length such as 12m or 40ft`.

#include <cstddef>
#include <stdexcept>
#include <string>
#include <string_view>

namespace pulsewright::cli {

/// `what()` says what was expected.
class UnitError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Metres from "12m", "12 m", "350cm", "40ft", "40 feet", "6in", "0.1km". The unit is required: 40 alone could be either.
double parse_length_m(std::string_view text);

/// Ohms from "33", "33ohm", "33 Ω", "33R", "4k7", "4.7k", "4R7", "1M". Zero is a wire.
double parse_resistance_ohm(std::string_view text);

/// Hertz from "100MHz", "350 kHz", "1.5GHz", "50Hz"; capitals do not matter, m is mega. The unit is required.
double parse_frequency_hz(std::string_view text);

/// Samples a second from "100MS/s", "24 MSa/s", "8MHz", "48k", "8000000".
double parse_rate_hz(std::string_view text);

/// Volts from "5", "5V", "3.3 V", "3V3", "500mV", "39.1uV".
double parse_voltage_v(std::string_view text);

/// A part of one from "3%", "50ppm", "0.03"; at least 0, below 1.
double parse_ratio(std::string_view text);

/// Attenuation of a probe from "10", "10x", "x10", "10:1".
double parse_probe_factor(std::string_view text);

/// A number above 0 without a unit.
double parse_factor(std::string_view text);

/// Bytes from "512MB", "500 kB", "2GiB"; at least one.
std::size_t parse_size_bytes(std::string_view text);

/// A count from 1.
std::size_t parse_ordinal(std::string_view text);

}  // namespace pulsewright::cli
