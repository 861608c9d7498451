#include "importers/text/unit.hpp"

#include <array>
#include <cctype>

namespace pulsewright::importers::text {

namespace {

struct Word {
  std::string_view word;
  Quantity quantity;
};

constexpr std::array whole_words{
    Word{"sec", Quantity::time},         Word{"second", Quantity::time},   Word{"seconds", Quantity::time},
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

std::optional<Quantity> symbol_of(std::string_view text) {
  if (text == "s" || text == "S" || text == "sec" || text == "Sec") return Quantity::time;
  if (text == "V" || text == "v") return Quantity::voltage;
  if (text == "A") return Quantity::current;
  if (text == "Hz" || text == "hz" || text == "HZ") return Quantity::frequency;
  return std::nullopt;
}

std::string_view without_brackets(std::string_view text) {
  text = trimmed(text);
  if (text.size() < 2) return text;
  const char open = text.front(), close = text.back();
  if ((open == '(' && close == ')') || (open == '[' && close == ']')) return trimmed(text.substr(1, text.size() - 2));
  return text;
}

std::optional<NameAndUnit> unit_in_brackets(std::string_view cell) {
  if (cell.empty() || (cell.back() != ')' && cell.back() != ']')) return std::nullopt;
  const auto open = cell.rfind(cell.back() == ')' ? '(' : '[');
  if (open == std::string_view::npos) return std::nullopt;
  const auto unit = unit_of(cell.substr(open));
  if (!unit) return std::nullopt;
  return NameAndUnit{std::string(trimmed(cell.substr(0, open))), unit};
}

/// The unit after the last `mark`.
std::optional<NameAndUnit> unit_behind(std::string_view cell, std::string_view mark) {
  const auto at = cell.rfind(mark);
  if (at == std::string_view::npos) return std::nullopt;
  const auto unit = unit_of(cell.substr(at + mark.size()));
  if (!unit) return std::nullopt;
  return NameAndUnit{std::string(trimmed(cell.substr(0, at))), unit};
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view around = " \t\r\"";
  const auto first = text.find_first_not_of(around);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\"") - first + 1);
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
    if (const auto quantity = symbol_of(word.substr(prefix.text.size()))) return Unit{*quantity, prefix.scale};
  }
  const std::string letters = plain(word);
  for (const Word& known : whole_words)
    if (letters == known.word) return Unit{known.quantity, 1};
  if (letters == "millivolt" || letters == "millivolts") return Unit{Quantity::voltage, 1e-3};
  if (letters == "millisecond" || letters == "milliseconds") return Unit{Quantity::time, 1e-3};
  if (letters == "microsecond" || letters == "microseconds") return Unit{Quantity::time, 1e-6};
  if (letters == "nanosecond" || letters == "nanoseconds") return Unit{Quantity::time, 1e-9};
  return std::nullopt;
}

NameAndUnit split_name(std::string_view cell) {
  cell = trimmed(cell);
  if (auto found = unit_in_brackets(cell)) return *found;
  if (auto found = unit_behind(cell, " in ")) return *found;
  if (cell.starts_with("in "))
    if (const auto unit = unit_of(cell.substr(3))) return {"", unit};
  if (auto found = unit_behind(cell, "/")) {
    if (found->name.find('"') != std::string::npos) found->name = std::string(trimmed(found->name));
    return *found;
  }
  if (const auto at = cell.rfind('_'); at != std::string_view::npos && at > 0) {
    const auto tail = cell.substr(at + 1);
    if (tail != "S" && tail != "v" && tail.size() <= 3)
      if (const auto unit = unit_of(tail)) return {std::string(cell.substr(0, at)), unit};
  }
  return {std::string(cell), std::nullopt};
}

}  // namespace pulsewright::importers::text
