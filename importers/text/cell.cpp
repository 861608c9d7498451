#include "importers/text/cell.hpp"

#include <fast_float/fast_float.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "importers/text/number.hpp"
#include "importers/text/unit.hpp"

namespace pulsewright::importers::text {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

constexpr std::string_view minus_sign = "\xe2\x88\x92";  // U+2212

/// A cell with U+2212 for '-', 'D' before an exponent or blanks around its mark, put in plain spelling: "3.0 D+00" -> "3.0E+00".
/// "3D0" stays, since it can be a hexadecimal code.
class Spelling {
 public:
  explicit Spelling(std::string_view cell) : text_(trimmed(cell)) {
    if (text_.find_first_of("dDeE\xe2") == std::string_view::npos) return;
    if (const auto at = text_.find(minus_sign); at != std::string_view::npos) replace(at, minus_sign.size(), "-");
    if (const auto at = text_.find(minus_sign); at != std::string_view::npos) replace(at, minus_sign.size(), "-");
    const auto mark = text_.find_first_of("dDeE");
    if (mark == std::string_view::npos || mark == 0) return;
    const auto before = text_.find_last_not_of(' ', mark - 1), after = text_.find_first_not_of(' ', mark + 1);
    if (before == std::string_view::npos || after == std::string_view::npos || !is_digit(text_[before])) return;
    const bool has_sign = text_[after] == '-' || text_[after] == '+';
    const auto digit = after + has_sign;
    const bool is_exponent = digit < text_.size() && is_digit(text_[digit]) && (has_sign || text_.substr(0, before).find_first_of(".,") != std::string_view::npos);
    if (is_exponent) replace(before + 1, after - before - 1, "E");
  }
  std::string_view text() const { return text_; }

 private:
  void replace(std::size_t at, std::size_t count, std::string_view by) {
    std::string changed(text_);
    changed.replace(at, count, by);
    held_ = std::move(changed);
    text_ = held_;
  }

  std::string held_;
  std::string_view text_;
};

/// Number at the start of `text` and what follows it.
std::optional<double> leading_number(std::string_view text, char decimal, std::string_view& rest) {
  if (text.starts_with('+')) {
    text.remove_prefix(1);
    if (text.starts_with('-')) return std::nullopt;
  }
  if (text.empty() || !(is_digit(text.front()) || text.front() == '-' || text.front() == decimal)) return std::nullopt;
  double value = 0;
  const fast_float::parse_options options{fast_float::chars_format::general, decimal};
  const auto result = fast_float::from_chars_advanced(text.data(), text.data() + text.size(), value, options);
  if (result.ec != std::errc() || !std::isfinite(value)) return std::nullopt;
  rest = text.substr(static_cast<std::size_t>(result.ptr - text.data()));
  return value;
}

/// A number in plain spelling with nothing around it, as nearly all cells are; where it ends is where the cell ends.
std::optional<double> plain_number(std::string_view cell, char decimal) {
  std::string_view rest;
  const auto value = leading_number(cell, decimal, rest);
  return rest.empty() ? value : std::nullopt;
}

bool is_unknown_state(std::string_view cell) {
  if (cell == "X" || cell == "x" || cell == "?" || cell == "Z" || cell == "z" || cell == "U" || cell == "-") return true;
  if (cell.starts_with("? ")) cell.remove_prefix(2);
  if (cell.starts_with("0x") || cell.starts_with("0X")) cell.remove_prefix(1);
  if (cell.size() < 2 || (cell[0] != 'h' && cell[0] != 'x' && cell[0] != 'X')) return false;
  return cell.find_first_not_of("0123456789abcdefABCDEFxX", 1) == std::string_view::npos;
}

/// Reads digits and separators of a stamp from left to right.
struct StampReader {
  std::string_view text;

  std::optional<int> digits(std::size_t least, std::size_t most) {
    std::size_t n = 0;
    int value = 0;
    while (n < text.size() && n < most && is_digit(text[n])) value = value * 10 + (text[n++] - '0');
    if (n < least) return std::nullopt;
    text.remove_prefix(n);
    return value;
  }
  bool skip(std::string_view any) {
    if (text.empty() || any.find(text.front()) == std::string_view::npos) return false;
    text.remove_prefix(1);
    return true;
  }
  std::optional<int> month() {
    if (text.empty() || is_digit(text.front())) return digits(1, 2);
    constexpr std::string_view names = "janfebmaraprmayjunjulaugsepoctnovdec";
    const auto at = names.find(plain(text.substr(0, 3)));
    if (text.size() < 3 || at == std::string_view::npos || at % 3 != 0) return std::nullopt;
    text.remove_prefix(3);
    return static_cast<int>(at / 3) + 1;
  }
};

/// Days since 1970-01-01 in the Gregorian calendar.
std::int64_t days_from_civil(std::int64_t year, int month, int day) {
  year -= month <= 2;
  const std::int64_t era = (year >= 0 ? year : year - 399) / 400;
  const std::int64_t of_era = year - era * 400;
  const std::int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

/// Date at the start; leaves the reader before the time of day.
std::optional<std::int64_t> date(StampReader& reader) {
  const auto first = reader.digits(1, 4);
  if (!first || !reader.skip("-/.")) return std::nullopt;
  const auto month = reader.month();
  if (!month || !reader.skip("-/.")) return std::nullopt;
  const auto last = reader.digits(1, 4);
  if (!last) return std::nullopt;
  const bool year_first = *first > 31;
  int year = year_first ? *first : *last;
  int day = year_first ? *last : *first, month_of_year = *month;
  if (year < 100) year += 2000;
  if (month_of_year > 12) std::swap(day, month_of_year);
  if (month_of_year < 1 || month_of_year > 12 || day < 1 || day > 31) return std::nullopt;
  return days_from_civil(year, month_of_year, day);
}

std::int64_t fraction_femtoseconds(StampReader& reader) {
  std::int64_t value = 0;
  int n = 0;
  for (; !reader.text.empty() && is_digit(reader.text.front()); reader.text.remove_prefix(1))
    if (n < 15) value = value * 10 + (reader.text.front() - '0'), ++n;
  for (; n < 15; ++n) value *= 10;
  return value;
}

/// "Z", "+02:00" or nothing, in seconds east of Greenwich.
std::optional<std::int64_t> zone(StampReader& reader) {
  if (reader.text.empty()) return 0;
  if (reader.skip("Zz")) return reader.text.empty() ? std::optional<std::int64_t>(0) : std::nullopt;
  const bool west = reader.text.front() == '-';
  if (!reader.skip("+-")) return std::nullopt;
  const auto hours = reader.digits(2, 2);
  reader.skip(":");
  const auto minutes = reader.text.empty() ? std::optional<int>(0) : reader.digits(2, 2);
  if (!hours || !minutes || !reader.text.empty()) return std::nullopt;
  return (west ? -1 : 1) * (*hours * 3600 + *minutes * 60);
}

}  // namespace

std::vector<std::string_view> split(std::string_view line, const Grid& grid) {
  std::vector<std::string_view> cells;
  if (grid.delimiter == '\0') return {trimmed(line)};
  if (grid.delimiter == ' ') {
    for (std::size_t at = line.find_first_not_of(" \t\r"); at < line.size(); at = line.find_first_not_of(" \t\r", at)) {
      const auto end = std::min(line.find_first_of(" \t\r", at), line.size());
      const bool of_name_before = (line[at] == '(' || line[at] == '[') && !cells.empty() && !cells.back().empty() && !cells.back().starts_with(line[at]);
      if (of_name_before) cells.back() = {cells.back().data(), line.data() + end};
      else cells.push_back(trimmed(line.substr(at, end - at)));
      at = end;
    }
    return cells;
  }
  for (std::size_t at = 0;;) {
    std::size_t from = line.find_first_not_of(' ', at);
    if (from < line.size() && line[from] == '"') {
      const auto close = line.find('"', from + 1);
      from = close < line.size() ? close : at;
    } else {
      from = at;
    }
    const auto end = std::min(line.find(grid.delimiter, from), line.size());
    cells.push_back(trimmed(line.substr(at, end - at)));
    if (end == line.size()) return cells;
    at = end + 1;
  }
}

CellKind kind_of(std::string_view cell, char decimal) {
  if (cell.empty()) return CellKind::empty;
  if (number_in(cell, decimal)) return CellKind::number;
  if (is_unknown_state(cell)) return CellKind::unknown;
  if (stamp_in(cell)) return CellKind::stamp;
  const std::string letters = plain(cell);
  return letters == "nan" && cell.size() <= 5 ? CellKind::missing : CellKind::word;
}

std::optional<double> scale_of_suffix(std::string_view rest) {
  rest = trimmed(rest);
  if (rest.empty()) return 1;
  if (const auto unit = unit_of(rest)) return unit->scale;
  if (const auto unit = unit_of(std::string(rest) + "Hz")) return unit->scale;
  return std::nullopt;
}

std::optional<double> number_in(std::string_view cell, char decimal) {
  if (const auto value = plain_number(cell, decimal)) return value;
  const Spelling spelling(cell);
  std::string_view rest;
  const auto value = leading_number(spelling.text(), decimal, rest);
  if (!value) return std::nullopt;
  const auto scale = scale_of_suffix(rest);
  if (!scale) return std::nullopt;
  return Scale(*scale)(*value);
}

std::string unit_behind_number(std::string_view cell, char decimal) {
  if (plain_number(cell, decimal)) return "";
  const Spelling spelling(cell);
  std::string_view rest;
  return leading_number(spelling.text(), decimal, rest) ? std::string(trimmed(rest)) : "";
}

std::optional<Instant> stamp_in(std::string_view cell) {
  StampReader reader{trimmed(cell)};
  if (reader.text.find(':') == std::string_view::npos) return std::nullopt;
  if (reader.skip("-")) {
    const auto after = reader.text.find_first_of("-/") == std::string_view::npos ? stamp_in(reader.text) : std::nullopt;
    return after ? std::optional(Instant{-after->seconds, -after->femtoseconds}) : std::nullopt;
  }
  std::int64_t days = 0;
  const auto colon = reader.text.find(':');
  if (reader.text.substr(0, colon).find_first_of("-/.") != std::string_view::npos) {
    const auto day = date(reader);
    if (!day || !reader.skip("T \t")) return std::nullopt;
    days = *day;
    while (reader.skip(" \t")) {}
  }
  const auto hours = reader.digits(1, 2);
  if (!hours || !reader.skip(":")) return std::nullopt;
  const auto minutes = reader.digits(2, 2);
  if (!minutes || !reader.skip(":")) return std::nullopt;
  const auto seconds = reader.digits(2, 2);
  if (!seconds || *hours > 24 || *minutes > 59 || *seconds > 60) return std::nullopt;
  const std::int64_t fraction = reader.skip(".,:") ? fraction_femtoseconds(reader) : 0;
  const auto east = zone(reader);
  if (!east) return std::nullopt;
  return Instant{days * 86400 + std::int64_t{*hours} * 3600 + std::int64_t{*minutes} * 60 + *seconds - *east, fraction};
}

std::optional<Instant> instant_in(std::string_view cell, char decimal) {
  StampReader reader{trimmed(cell)};
  const bool negative = reader.text.starts_with('-');
  reader.skip("+-");
  Instant instant;
  std::size_t n = 0;
  while (n < reader.text.size() && n < 18 && is_digit(reader.text[n]))
    instant.seconds = instant.seconds * 10 + (reader.text[n++] - '0');
  if (n == 0) return std::nullopt;
  reader.text.remove_prefix(n);
  if (reader.skip(std::string_view(&decimal, 1))) instant.femtoseconds = fraction_femtoseconds(reader);
  if (!reader.text.empty()) return std::nullopt;
  if (negative) instant = {-instant.seconds, -instant.femtoseconds};
  return instant;
}

namespace {

/// Of "12.345e-6", the decimal exponent of the 5.
int exponent_of_last_digit(std::string_view number, char decimal) {
  const auto exponent_at = std::min({number.find('e'), number.find('E'), number.size()});
  int exponent = 0;
  if (exponent_at < number.size()) {
    const auto digits = number.substr(exponent_at + 1);
    for (const char c : digits)
      if (is_digit(c)) exponent = std::min(exponent * 10 + (c - '0'), 1000);
    if (digits.starts_with('-')) exponent = -exponent;
  }
  const auto point = number.find(decimal);
  return exponent - (point < exponent_at ? static_cast<int>(exponent_at - point) - 1 : 0);
}

double last_digit_of_stamp(std::string_view cell) {
  const auto colon = cell.rfind(':', std::min(cell.find_first_of(".,"), cell.size()));
  const auto point = cell.find_first_of(".,", colon == std::string_view::npos ? 0 : colon);
  int decimals = 0;
  for (auto at = point; at != std::string_view::npos && ++at < cell.size() && is_digit(cell[at]);) ++decimals;
  return std::pow(10.0, -decimals);
}

}  // namespace

double last_digit_of(std::string_view cell, char decimal) {
  if (plain_number(cell, decimal)) return std::pow(10.0, exponent_of_last_digit(cell, decimal));
  const Spelling spelling(cell);
  cell = spelling.text();
  if (stamp_in(cell)) return last_digit_of_stamp(cell);
  std::string_view rest;
  if (!leading_number(cell, decimal, rest)) return 0;
  return std::pow(10.0, exponent_of_last_digit(cell.substr(0, cell.size() - rest.size()), decimal)) * scale_of_suffix(rest).value_or(1);
}

}  // namespace pulsewright::importers::text
