#include "importers/text/value_form.hpp"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

namespace pulsewright::importers::text {

namespace {

bool all_digits(std::string_view text) { return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos; }

ValueForm form_of(std::string_view cell, char decimal) {
  if (cell.starts_with('-') || cell.starts_with('+')) cell.remove_prefix(1);
  const auto mantissa = cell.substr(0, cell.find_first_of("eE"));
  if (std::ranges::count_if(mantissa, [](char c) { return c >= '0' && c <= '9'; }) > most_digits) return ValueForm::longer();
  const auto point = cell.find(decimal);
  if (point == std::string_view::npos || !all_digits(cell.substr(0, point))) return {};
  const auto mark = cell.find_first_of("eE", point);
  const auto fraction = cell.substr(point + 1, mark == std::string_view::npos ? mark : mark - point - 1);
  if (!all_digits(fraction) || fraction.size() > 6) return {};
  const int decimals = static_cast<int>(fraction.size());
  if (mark == std::string_view::npos) return point + fraction.size() <= 7 ? ValueForm::fixed(decimals) : ValueForm{};
  const bool plain = point == 1 && decimal == '.' && cell.size() == mark + 4 && all_digits(cell.substr(mark + 2));
  return plain ? ValueForm::scientific(decimals, cell[mark]) : ValueForm{};
}

}  // namespace

ValueForm ValueForm::scientific(int decimals, char mark) {
  ValueForm form;
  form.notation_ = ValueNotation::scientific;
  form.decimals_ = decimals;
  // Pairs "d." (ten times the digit), "ff", "ff", "ff"; with an odd number of decimals " d", ".f", "ff", "ff".
  const int even = decimals + decimals % 2;
  const auto weight = [even](int less) { return even < less ? 0 : detail::integer_powers[static_cast<std::size_t>(even - less)]; };
  form.shift_ = 8 * (decimals % 2);
  form.digits_mask_ = ~std::uint64_t{0} >> (8 * (6 - decimals)) & ~std::uint64_t{0xff00};
  form.digits_top_bits_ = form.digits_mask_ & 0x8080808080808080u;
  form.weights_02_ = weight(1) << 32 | weight(4);
  form.weights_13_ = weight(2) << 32 | weight(6);
  for (int exponent = 0; exponent < 20; ++exponent)
    for (const bool negative : {false, true}) {
      const int power = (negative ? -exponent : exponent) - decimals;
      if (power < -10 || power > 10) continue;
      const std::array<char, 4> text{mark, negative ? '-' : '+', static_cast<char>('0' + exponent / 10), static_cast<char>('0' + exponent % 10)};
      std::uint32_t word;
      std::memcpy(&word, text.data(), 4);
      Exponent& entry = form.exponents_[place_of(word)];
      entry.text = word;
      entry.scale = detail::scaled_by_ten(1, power);
    }
  return form;
}

ValueForm ValueForm::fixed(int decimals) {
  ValueForm form;
  form.notation_ = ValueNotation::fixed;
  form.decimals_ = decimals;
  form.scale_ = detail::scaled_by_ten(1, -decimals);
  return form;
}

ValueForm ValueForm::longer() {
  ValueForm form;
  form.notation_ = ValueNotation::longer;
  return form;
}

ValueForm value_form(std::string_view rows, std::size_t column, const Grid& grid) {
  std::map<std::pair<ValueNotation, int>, std::pair<std::size_t, ValueForm>> seen;
  std::size_t lines = 0;
  while (!rows.empty()) {
    const auto end = std::min(rows.find('\n'), rows.size());
    const auto cells = split(rows.substr(0, end), grid);
    rows.remove_prefix(std::min(end + 1, rows.size()));
    if (column >= cells.size()) continue;
    ++lines;
    const ValueForm form = form_of(cells[column], grid.decimal);
    auto& [count, example] = seen[{form.notation(), form.decimals()}];
    ++count;
    example = form;
  }
  for (const auto& [key, found] : seen)
    if (found.first * 10 >= lines * 9) return found.second;
  return {};
}

}  // namespace pulsewright::importers::text
