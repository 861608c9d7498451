// The picture: its size, what it shows, and the same ink in the same places.

#include "reports/png/picture.hpp"

#include <cairo.h>

#include <array>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <sstream>
#include <string>

#include "tests/support/golden.hpp"
#include "tests/support/sample_diagnosis.hpp"

namespace {

using namespace pulsewright;

constexpr int kTile = 50;

struct Picture {
  int width = 0, height = 0;
  std::array<double, 24 * 18 * 3> tiles{};  ///< mean red, green, blue of each 50 x 50 tile, 0..255
};

Picture decoded(const std::string& png) {
  std::string_view rest = png;
  const auto read = [](void* from, unsigned char* to, unsigned size) {
    auto& bytes = *static_cast<std::string_view*>(from);
    if (bytes.size() < size) return CAIRO_STATUS_READ_ERROR;
    std::memcpy(to, bytes.data(), size);
    bytes.remove_prefix(size);
    return CAIRO_STATUS_SUCCESS;
  };
  cairo_surface_t* surface = cairo_image_surface_create_from_png_stream(read, &rest);
  BOOST_TEST_REQUIRE(cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS);
  Picture made{cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface), {}};
  BOOST_TEST_REQUIRE((made.width == 1200 && made.height == 900));
  const unsigned char* pixels = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  for (int y = 0; y < made.height; ++y)
    for (int x = 0; x < made.width; ++x) {
      std::uint32_t pixel = 0;
      std::memcpy(&pixel, pixels + y * stride + x * 4, 4);
      const auto tile = static_cast<std::size_t>((y / kTile * 24 + x / kTile) * 3);
      for (std::size_t part = 0; part < 3; ++part)
        made.tiles[tile + part] += ((pixel >> (16 - 8 * part)) & 0xFFu) / double(kTile * kTile);
    }
  cairo_surface_destroy(surface);
  return made;
}

std::string tiles_text(const Picture& picture) {
  std::ostringstream text;
  for (const double value : picture.tiles) text << std::lround(value) << '\n';
  return text.str();
}

/// Largest and mean distance of the tiles from tests/golden/<name>.
std::pair<double, double> distance(const std::string& name, const Picture& picture) {
  const std::string path = std::string(PULSEWRIGHT_SOURCE_DIR) + "/tests/golden/" + name;
  if (std::getenv("REFRESH_GOLDEN") != nullptr) std::ofstream(path) << tiles_text(picture);
  std::ifstream file(path);
  double largest = 0, sum = 0;
  for (const double value : picture.tiles) {
    double expected = -1000;
    file >> expected;
    largest = std::max(largest, std::abs(value - expected));
    sum += std::abs(value - expected);
  }
  return {largest, sum / static_cast<double>(picture.tiles.size())};
}

}  // namespace

BOOST_AUTO_TEST_SUITE(picture)

BOOST_AUTO_TEST_CASE(looks_as_it_was_reviewed) {
  // Tiles of 50 x 50: another release of a font or of the renderer moves ink within a tile, seldom across.
  for (const auto& [name, diagnosis] : {std::pair{"picture-slow.tiles", samples::overdamped()},
                                        std::pair{"picture-logic.tiles", samples::logic()}}) {
    const auto [largest, mean] = distance(name, decoded(reports::picture_png(diagnosis)));
    BOOST_TEST(largest < 40, name << ": a tile is off by " << largest);
    BOOST_TEST(mean < 2, name << ": tiles are off by " << mean << " on average");
  }
}

BOOST_AUTO_TEST_CASE(a_changed_curve_is_noticed) {
  if (std::getenv("REFRESH_GOLDEN") != nullptr) return;
  const auto [largest, mean] = distance("picture-slow.tiles", decoded(reports::picture_png(samples::ringing())));
  BOOST_TEST((largest >= 40 || mean >= 2));
}

BOOST_AUTO_TEST_CASE(hostile_text_stays_text) {
  const auto diagnosis = samples::hostile(samples::overdamped());
  const auto svg = reports::picture_svg(diagnosis);
  BOOST_TEST(svg.find("<script") == std::string::npos);
  BOOST_TEST(svg.find("<img") == std::string::npos);
  BOOST_TEST(decoded(reports::picture_png(diagnosis)).width == 1200);
}

BOOST_AUTO_TEST_SUITE_END()
