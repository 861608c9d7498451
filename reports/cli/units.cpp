#include "reports/cli/units.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <initializer_list>
#include <optional>
#include <utility>

namespace pulsewright::cli {

namespace {

using Table = std::initializer_list<std::pair<std::string_view, double>>;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string lower(std::string_view text) {
  std::string made(text);
  for (char& c : made)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return made;
}

/// Takes the number at the beginning off `text`; false where none stands, or where it is not finite.
bool take_number(std::string_view& text, double& value) {
  std::size_t digits = 0, end = 0;
  while (end < text.size() && is_digit(text[end])) ++end, ++digits;
  if (end < text.size() && text[end] == '.') {
    ++end;
    while (end < text.size() && is_digit(text[end])) ++end, ++digits;
  }
  if (digits == 0) return false;
  if (end < text.size() && (text[end] == 'e' || text[end] == 'E')) {
    std::size_t after = end + 1;
    if (after < text.size() && (text[after] == '+' || text[after] == '-')) ++after;
    if (after < text.size() && is_digit(text[after])) {
      while (after < text.size() && is_digit(text[after])) ++after;
      end = after;
    }
  }
  const auto result = std::from_chars(text.data(), text.data() + end, value);
  if (result.ec != std::errc() || result.ptr != text.data() + end || !std::isfinite(value)) return false;
  text.remove_prefix(end);
  return true;
}

std::optional<double> factor_in(Table table, std::string_view unit) {
  for (const auto& [name, factor] : table)
    if (name == unit) return factor;
  return std::nullopt;
}

/// Number, at most one space, then a unit of the table. The empty unit never follows a space.
std::optional<double> scaled(std::string_view text, Table table, bool any_case) {
  double value = 0;
  if (!take_number(text, value)) return std::nullopt;
  const bool spaced = text.starts_with(' ');
  if (spaced) text.remove_prefix(1);
  if (spaced && text.empty()) return std::nullopt;
  const auto factor = factor_in(table, any_case ? lower(text) : std::string(text));
  if (!factor || !std::isfinite(value * *factor)) return std::nullopt;
  return value * *factor;
}

/// "4k7": the letter stands for the decimal point.
std::optional<double> letter_as_point(std::string_view text, Table letters) {
  const auto place = std::find_if_not(text.begin(), text.end(), is_digit);
  const auto before = static_cast<std::size_t>(place - text.begin());
  if (before == 0 || before == text.size()) return std::nullopt;
  const auto factor = factor_in(letters, text.substr(before, 1));
  const std::string_view after = text.substr(before + 1);
  if (!factor || after.empty() || !std::all_of(after.begin(), after.end(), is_digit)) return std::nullopt;
  const std::string plain = std::string(text.substr(0, before)) + "." + std::string(after);
  std::string_view rest = plain;
  double value = 0;
  if (!take_number(rest, value)) return std::nullopt;
  return value * *factor;
}

double above_zero(std::optional<double> value, const char* expected) {
  if (!value || !(*value > 0)) throw UnitError(expected);
  return *value;
}

constexpr std::string_view kOhmWords[] = {"ohms", "ohm", "Ohms", "Ohm", "\xCE\xA9", "\xE2\x84\xA6"};  // Greek omega, ohm sign

std::string_view without_ohm_word(std::string_view text) {
  for (const auto word : kOhmWords) {
    if (!text.ends_with(word)) continue;
    text.remove_suffix(word.size());
    break;
  }
  return text;
}

}  // namespace

double parse_length_m(std::string_view text) {
  return above_zero(scaled(text, {{"m", 1}, {"metre", 1}, {"metres", 1}, {"meter", 1}, {"meters", 1}, {"cm", 0.01}, {"mm", 1e-3},
                                  {"km", 1e3}, {"ft", 0.3048}, {"foot", 0.3048}, {"feet", 0.3048}, {"in", 0.0254},
                                  {"inch", 0.0254}, {"inches", 0.0254}, {"yd", 0.9144}},
                           true),
                    "a length with its unit, such as 12m or 40ft");
}

double parse_resistance_ohm(std::string_view text) {
  const Table multipliers{{"", 1}, {"R", 1}, {"r", 1}, {"k", 1e3}, {"K", 1e3}, {"M", 1e6}, {"m", 1e-3}};
  std::string_view bare = without_ohm_word(text);
  const bool worded = bare.size() < text.size();
  if (worded && bare.ends_with(' ')) bare.remove_suffix(1);
  if (const auto value = letter_as_point(bare, {{"R", 1}, {"r", 1}, {"k", 1e3}, {"K", 1e3}, {"M", 1e6}})) return *value;
  const auto value = scaled(bare, multipliers, false);
  const bool two_units = worded && (bare.ends_with('R') || bare.ends_with('r'));
  const bool metres = !worded && bare.ends_with('m');
  if (!value || two_units || metres) throw UnitError("a resistance such as 100, 33ohm or 4k7");
  return *value;
}

double parse_frequency_hz(std::string_view text) {
  return above_zero(scaled(text, {{"hz", 1}, {"khz", 1e3}, {"mhz", 1e6}, {"ghz", 1e9}}, true),
                    "a frequency with its unit, such as 100MHz");
}

double parse_rate_hz(std::string_view text) {
  return above_zero(scaled(text, {{"", 1},          {"k", 1e3},      {"m", 1e6},      {"g", 1e9},      {"s/s", 1},
                                  {"ks/s", 1e3},    {"ms/s", 1e6},   {"gs/s", 1e9},   {"sa/s", 1},     {"ksa/s", 1e3},
                                  {"msa/s", 1e6},   {"gsa/s", 1e9},  {"sps", 1},      {"ksps", 1e3},   {"msps", 1e6},
                                  {"gsps", 1e9},    {"hz", 1},       {"khz", 1e3},    {"mhz", 1e6},    {"ghz", 1e9}},
                           true),
                    "a sample rate such as 100MS/s");
}

double parse_voltage_v(std::string_view text) {
  auto value = letter_as_point(text, {{"V", 1}, {"v", 1}});
  if (!value)
    value = scaled(text, {{"", 1}, {"V", 1}, {"v", 1}, {"mV", 1e-3}, {"mv", 1e-3}, {"uV", 1e-6}, {"\xC2\xB5V", 1e-6},
                          {"\xCE\xBCV", 1e-6}, {"kV", 1e3}},
                   false);
  return above_zero(value, "a voltage such as 5V or 3.3V");
}

double parse_ratio(std::string_view text) {
  const auto value = scaled(text, {{"", 1}, {"%", 1e-2}, {"ppm", 1e-6}}, false);
  if (!value || *value >= 1) throw UnitError("a part of one such as 3%, 50ppm or 0.03");
  return *value;
}

double parse_probe_factor(std::string_view text) {
  const char* expected = "a probe attenuation such as 10 or 10:1";
  if (text.starts_with('x') || text.starts_with('X')) return above_zero(scaled(text.substr(1), {{"", 1}}, false), expected);
  return above_zero(scaled(text, {{"", 1}, {"x", 1}, {":1", 1}}, true), expected);
}

double parse_factor(std::string_view text) { return above_zero(scaled(text, {{"", 1}}, false), "a number above 0"); }

std::size_t parse_size_bytes(std::string_view text) {
  const auto value = scaled(text, {{"kb", 1e3}, {"mb", 1e6}, {"gb", 1e9}, {"kib", 0x1p10}, {"mib", 0x1p20}, {"gib", 0x1p30}}, true);
  if (!value || !(*value >= 1) || *value > 0x1p50) throw UnitError("a size with its unit, such as 512MB or 2GiB");
  return static_cast<std::size_t>(*value);
}

std::size_t parse_ordinal(std::string_view text) {
  std::size_t value = 0;
  const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
  if (result.ec != std::errc() || result.ptr != text.data() + text.size() || value == 0)
    throw UnitError("a number counted from 1");
  return value;
}

}  // namespace pulsewright::cli
