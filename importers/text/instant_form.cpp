#include "importers/text/instant_form.hpp"

#include <algorithm>

namespace pulsewright::importers::text {

InstantForm::InstantForm(std::string_view cell, bool is_stamp, char decimal) {
  const auto instant = is_stamp ? stamp_in(cell) : instant_in(cell, decimal);
  const auto first_colon = is_stamp ? cell.find(':') : 0;
  const auto point = is_stamp ? cell.find(':', first_colon + 1) + 3 : cell.find(decimal);  // "07:08:09.5" or "1935903000.5"
  if (!instant || cell.starts_with('-') || point >= cell.size() || (is_stamp && std::string_view(".,:").find(cell[point]) == std::string_view::npos)) return;
  const auto digits_end = std::min(cell.find_first_not_of("0123456789", point + 1), cell.size());
  if (point + 1 > longest || cell.size() - digits_end > Literal::longest) return;
  seconds_ = instant->seconds;
  head_ = cell.substr(0, point + 1);
  tail_ = Literal(cell.substr(digits_end));
}

}  // namespace pulsewright::importers::text
