#include "importers/text/unit.hpp"

#include <array>
#include <cctype>
#include <utility>

namespace pulsewright::importers::text {

namespace {

struct Word {
  std::string_view word;
  Quantity quantity;
};

constexpr std::array whole_words{
    Word{"sec", Quantity::time},         Word{"secs", Quantity::time},     Word{"second", Quantity::time},   Word{"seconds", Quantity::time},
    Word{"volt", Quantity::voltage},     Word{"volts", Quantity::voltage}, Word{"amp", Quantity::current},
    Word{"ampere", Quantity::current},   Word{"amps", Quantity::current},  Word{"count", Quantity::count},
    Word{"counts", Quantity::count},     Word{"lsb", Quantity::count},     Word{"adc", Quantity::count},
    Word{"adccount", Quantity::count},   Word{"adccounts", Quantity::count}, Word{"code", Quantity::count},
    Word{"index", Quantity::index},      Word{"sample", Quantity::index},  Word{"samples", Quantity::index},
    Word{"hertz", Quantity::frequency},
};

struct Prefix {
  std::string_view text;
  double scale;
};

// The micro sign (U+00B5), the Greek letter (U+03BC) and the single byte of Latin-1 stand for micro.
constexpr std::array prefixes{Prefix{"f", 1e-15}, Prefix{"p", 1e-12},        Prefix{"n", 1e-9},        Prefix{"u", 1e-6},
                              Prefix{"m", 1e-3},  Prefix{"\xc2\xb5", 1e-6}, Prefix{"\xce\xbc", 1e-6}, Prefix{"\xb5", 1e-6},
                              Prefix{"k", 1e3},   Prefix{"M", 1e6},          Prefix{"G", 1e9}};

constexpr std::array prefixes_before_words{Prefix{"milli", 1e-3}, Prefix{"micro", 1e-6}, Prefix{"nano", 1e-9}, Prefix{"m", 1e-3}, Prefix{"u", 1e-6}, Prefix{"n", 1e-9}};

bool is_time_or_voltage(Quantity quantity) { return quantity == Quantity::time || quantity == Quantity::voltage; }

/// "millivolts", "usec", "millis": a prefix before a unit in letters.
std::optional<Unit> prefixed_word(std::string_view letters) {
  for (const Prefix& prefix : prefixes_before_words) {
    if (!letters.starts_with(prefix.text)) continue;
    const auto rest = letters.substr(prefix.text.size());
    if (rest == "s" && prefix.text.size() > 1) return Unit{Quantity::time, prefix.scale};
    for (const Word& known : whole_words)
      if (is_time_or_voltage(known.quantity) && rest == known.word) return Unit{known.quantity, prefix.scale};
  }
  return std::nullopt;
}

std::optional<Quantity> symbol_of(std::string_view text) {
  if (text == "s" || text == "S" || text == "sec" || text == "Sec") return Quantity::time;
  if (text == "V" || text == "v") return Quantity::voltage;
  if (text == "A") return Quantity::current;
  if (text == "Hz" || text == "hz" || text == "HZ") return Quantity::frequency;
  return std::nullopt;
}

/// No capture is in kiloseconds or megavolts: "MS" and "MV" are more likely milliseconds and millivolts in capitals.
double largest_scale(Quantity quantity) { return quantity == Quantity::time ? 1 : quantity == Quantity::voltage ? 1e3 : 1e9; }

/// The bracket that opens what `close` closes; 0 when that is none.
char opening(char close) { return close == ')' ? '(' : close == ']' ? '[' : close == '}' ? '{' : close == '>' ? '<' : '\0'; }

/// "Time (ms) rel", "(ms) Time": a unit in brackets anywhere.
std::optional<NameAndUnit> unit_in_any_brackets(std::string_view cell) {
  for (auto close = cell.find_first_of(")]}>"); close != std::string_view::npos; close = cell.find_first_of(")]}>", close + 1)) {
    const auto open = cell.rfind(opening(cell[close]), close);
    if (open == std::string_view::npos) continue;
    const auto unit = unit_of(cell.substr(open, close + 1 - open));
    if (!unit || !is_time_or_voltage(unit->quantity)) continue;
    const auto before = trimmed(cell.substr(0, open)), behind = trimmed(cell.substr(close + 1));
    return NameAndUnit{std::string(before) + (before.empty() || behind.empty() ? "" : " ") + std::string(behind), unit};
  }
  return std::nullopt;
}

std::optional<NameAndUnit> unit_in_brackets(std::string_view cell) {
  if (cell.empty() || opening(cell.back()) == '\0') return std::nullopt;
  const auto open = cell.rfind(opening(cell.back()));
  if (open == std::string_view::npos) return std::nullopt;
  if (const auto unit = unit_of(cell.substr(open))) return NameAndUnit{std::string(trimmed(cell.substr(0, open))), unit};
  if (const auto found = unit_in_any_brackets(cell)) return found;
  return NameAndUnit{std::string(cell), std::nullopt, std::string(without_brackets(cell.substr(open)))};
}

/// The unit after the last `mark`.
std::optional<NameAndUnit> unit_behind(std::string_view cell, std::string_view mark) {
  const auto at = cell.rfind(mark);
  if (at == std::string_view::npos) return std::nullopt;
  const auto unit = unit_of(cell.substr(at + mark.size()));
  if (!unit) return std::nullopt;
  return NameAndUnit{std::string(trimmed(cell.substr(0, at))), unit};
}

/// "Time us", "CH1 - mV": a unit as the last word, where that cannot be the letter or the word of a name.
std::optional<NameAndUnit> unit_as_last_word(std::string_view cell) {
  const auto at = cell.find_last_of(" ,:");
  if (at == std::string_view::npos) return std::nullopt;
  const auto word = cell.substr(at + 1);
  const auto unit = word.size() <= 4 && word != "S" && word != "v" ? unit_of(word) : std::nullopt;
  if (!unit || (unit->quantity != Quantity::time && unit->quantity != Quantity::voltage)) return std::nullopt;
  const auto end = cell.find_last_not_of(" ,:-", at);
  return end == std::string_view::npos ? std::nullopt : std::optional(NameAndUnit{std::string(trimmed(cell.substr(0, end + 1))), unit});
}

/// "Time.ms", "time_msec", "Timems": a unit of several letters behind a mark, or behind "time" itself.
std::optional<NameAndUnit> unit_as_tail(std::string_view cell) {
  const auto end = cell.find_last_not_of('_') + 1;
  const auto mark = cell.find_last_of("_.-|\\=#", end == 0 ? 0 : end - 1);
  const bool behind_time = mark == std::string_view::npos && plain(cell.substr(0, 4)) == "time";
  const auto begin = behind_time ? 4 : mark + 1;
  if ((!behind_time && (mark == std::string_view::npos || mark == 0)) || end < begin + 2) return std::nullopt;
  const auto unit = unit_of(cell.substr(begin, end - begin));
  if (!unit || !is_time_or_voltage(unit->quantity)) return std::nullopt;
  return NameAndUnit{std::string(trimmed(cell.substr(0, behind_time ? 4 : mark))), unit};
}

/// Brackets and colons as wide as an ideograph (U+FF08, U+FF09, U+FF3B, U+FF3D, U+FF1A) in their plain form.
std::string with_plain_brackets(std::string_view cell) {
  constexpr std::array<std::pair<std::string_view, char>, 5> wide{{{"\xef\xbc\x88", '('}, {"\xef\xbc\x89", ')'}, {"\xef\xbc\xbb", '['}, {"\xef\xbc\xbd", ']'}, {"\xef\xbc\x9a", ':'}}};
  std::string text(cell);
  for (const auto& [from, to] : wide)
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at)) text.replace(at, from.size(), 1, to);
  return text;
}

/// Without quotes around it, or marks behind its brackets: "'Time (ms)'", "Time (ms):".
std::string_view bare_name(std::string_view cell) {
  cell = trimmed(cell);
  if (cell.size() > 2 && cell.front() == '\'' && cell.back() == '\'') cell = trimmed(cell.substr(1, cell.size() - 2));
  while (cell.size() > 2 && (cell.back() == ':' || cell.back() == '*') && opening(cell[cell.size() - 2]) != '\0') cell.remove_suffix(1);
  return cell;
}

}  // namespace

std::string_view without_brackets(std::string_view text) {
  text = trimmed(text);
  if (text.size() < 2 || opening(text.back()) == '\0' || text.front() != opening(text.back())) return text;
  return trimmed(text.substr(1, text.size() - 2));
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view around = " \t\r\"";
  constexpr std::array wide_blanks{std::string_view("\xc2\xa0"), std::string_view("\xe2\x80\xaf"), std::string_view("\xe2\x80\x89")};  // no-break, narrow, thin
  for (;;) {
    const auto first = text.find_first_not_of(around);
    if (first == std::string_view::npos) return {};
    text = text.substr(first, text.find_last_not_of(around) - first + 1);
    if ((text.front() & 0x80) == 0 && (text.back() & 0x80) == 0) return text;
    const auto before = text.size();
    for (const auto blank : wide_blanks) {
      if (text.starts_with(blank)) text.remove_prefix(blank.size());
      if (text.ends_with(blank)) text.remove_suffix(blank.size());
    }
    if (text.size() == before) return text;
  }
}

std::string plain(std::string_view text) {
  std::string kept;
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (u < 0x80 && std::isalnum(u) != 0) kept += static_cast<char>(std::tolower(u));
  }
  return kept;
}

std::string symbol(Quantity quantity) {
  switch (quantity) {
    case Quantity::time: return "s";
    case Quantity::voltage: return "V";
    case Quantity::current: return "A";
    case Quantity::count: return "count";
    case Quantity::frequency: return "Hz";
    case Quantity::index: return "";
  }
  return "";
}

std::optional<Unit> unit_of(std::string_view word) {
  word = without_brackets(word);
  if (word.empty() || word.size() > 12) return std::nullopt;
  if (const auto quantity = symbol_of(word)) return Unit{*quantity, 1};
  for (const Prefix& prefix : prefixes) {
    if (!word.starts_with(prefix.text)) continue;
    const auto quantity = symbol_of(word.substr(prefix.text.size()));
    if (quantity && prefix.scale <= largest_scale(*quantity)) return Unit{*quantity, prefix.scale};
  }
  const std::string letters = plain(word);
  for (const Word& known : whole_words)
    if (letters == known.word) return Unit{known.quantity, 1};
  return prefixed_word(letters);
}

NameAndUnit split_name(std::string_view cell) {
  const std::string text = with_plain_brackets(cell);
  cell = bare_name(text);
  if (auto found = unit_in_brackets(cell)) return *found;
  if (auto found = unit_in_any_brackets(cell)) return *found;
  if (auto found = unit_behind(cell, " in ")) return *found;
  if (cell.starts_with("in "))
    if (const auto unit = unit_of(cell.substr(3))) return {"", unit};
  if (auto found = unit_behind(cell, "/")) {
    if (found->name.find('"') != std::string::npos) found->name = std::string(trimmed(found->name));
    return *found;
  }
  if (auto found = unit_as_last_word(cell)) return *found;
  if (const auto at = cell.rfind('_'); at != std::string_view::npos && at > 0) {
    const auto tail = cell.substr(at + 1);
    if (tail != "S" && tail != "v" && tail.size() <= 3)
      if (const auto unit = unit_of(tail)) return {std::string(cell.substr(0, at)), unit};
  }
  if (auto found = unit_as_tail(cell)) return *found;
  return {std::string(cell), std::nullopt};
}

}  // namespace pulsewright::importers::text
