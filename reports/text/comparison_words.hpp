#pragma once
// A comparison in words, shared by terminal, page, forum post and picture.

#include <string>
#include <string_view>
#include <vector>

#include "analyzer/compare.hpp"

namespace pulsewright::reports {

/// "better", "worse", "no clear change", "not comparable"
std::string said(analyzer::Change change);

/// "better", "worse", "changed", "same within uncertainty", or why it cannot be told.
std::string said(const analyzer::Difference& difference);

/// The unit of a difference as quantity() takes it: ratios as percent.
std::string_view shown_unit_of(const analyzer::Difference& difference);

/// The six figures that matter to the receiver, with short names; those that neither capture has are left out.
struct KeyFigure {
  std::string_view name;
  const analyzer::Difference* difference;
};
std::vector<KeyFigure> key_figures(const analyzer::Comparison& comparison);

/// "frame 1, pixel 4, byte 2 of the pixel, bit 7: 1 was read as 0"; all but the bit are counted from 1.
std::string place_in_words(const analyzer::BitDifference& place);

/// What the headline says behind the result's own word, beginning with a capital unless a label stands there.
std::string headline_alone(const analyzer::Comparison& comparison);

}  // namespace pulsewright::reports
