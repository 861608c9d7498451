#pragma once
// One picture of a comparison, of the size of a verdict's.

#include <string>

#include "analyzer/compare.hpp"

namespace pulsewright::reports {

/// Result, the six figures before and after, rising edges in one scale; of a series its ranking. Text from outside is escaped.
std::string comparison_picture_svg(const analyzer::Comparison& comparison);

/// The same as bytes of a PNG file. Throws std::runtime_error when the renderer fails.
std::string comparison_png(const analyzer::Comparison& comparison);

}  // namespace pulsewright::reports
