#pragma once
// One picture of a verdict, 1200 x 900 pixels.

#include <string>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports {

inline constexpr int picture_width = 1200, picture_height = 900;

/// The picture as one SVG document: verdict line, folded bits, edge with prediction. Text from captures is escaped.
std::string picture_svg(const analyzer::Diagnosis& diagnosis);

/// The same as bytes of a PNG file. Throws std::runtime_error when the renderer fails.
std::string picture_png(const analyzer::Diagnosis& diagnosis);

}  // namespace pulsewright::reports
