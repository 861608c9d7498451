#pragma once
// SVG -> PNG by the system's librsvg and cairo, which are loaded with the first picture: most runs draw none, and loading them takes
// longer than all other libraries together.

#include <string>

namespace pulsewright::reports::png {

/// The document, drawn on white at `width` x `height` pixels, as bytes of a PNG file. Throws std::runtime_error when it cannot be
/// drawn, or the libraries cannot be loaded.
std::string rendered(const std::string& svg, int width, int height);

}  // namespace pulsewright::reports::png
