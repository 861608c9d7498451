#include "reports/png/drawing.hpp"

#include <cairo.h>
#include <fmt/format.h>
#include <librsvg/rsvg.h>

#include <memory>
#include <stdexcept>

#include "reports/markup.hpp"
#include "reports/png/picture.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports::png {

namespace {


class Surface {
 public:
  Surface()
      : surface_(cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture_width, picture_height)),
        context_(cairo_create(surface_)) {
    cairo_set_source_rgb(context_, 1, 1, 1);
    cairo_paint(context_);
  }
  ~Surface() {
    cairo_destroy(context_);
    cairo_surface_destroy(surface_);
  }
  Surface(const Surface&) = delete;
  Surface& operator=(const Surface&) = delete;
  cairo_t* context() { return context_; }

  std::string png() {
    std::string bytes;
    const auto append = [](void* to, const unsigned char* data, unsigned size) {
      static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), size);
      return CAIRO_STATUS_SUCCESS;
    };
    if (cairo_surface_write_to_png_stream(surface_, append, &bytes) != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error("the picture cannot be encoded");
    return bytes;
  }

 private:
  cairo_surface_t* surface_;
  cairo_t* context_;
};

void render(const std::string& svg, cairo_t* context) {
  GError* error = nullptr;
  const auto fail = [&] {
    const std::string why = error != nullptr ? error->message : "no reason given";
    g_clear_error(&error);
    throw std::runtime_error("the picture cannot be drawn: " + why);
  };
  const auto release = [](RsvgHandle* handle) { g_object_unref(handle); };
  const std::unique_ptr<RsvgHandle, decltype(release)> handle(
      rsvg_handle_new_from_data(reinterpret_cast<const guint8*>(svg.data()), svg.size(), &error), release);
  if (!handle) fail();
  const RsvgRectangle all{0, 0, picture_width, picture_height};
  if (rsvg_handle_render_document(handle.get(), context, &all, &error) == FALSE) fail();
}

}  // namespace

std::string words(int x, int y, int size, std::string_view ink, std::string_view weight, std::string_view text) {
  return fmt::format("<text x=\"{}\" y=\"{}\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"{}\" fill=\"{}\" "
                     "font-weight=\"{}\">{}</text>",
                     x, y, size, ink, weight, escape(text));
}

/// `text` in at most `most` lines of at most `wide` columns; the last one is cut.
std::vector<std::string> lines_of(const std::string& text, std::size_t wide, std::size_t most) {
  std::vector<std::string> lines;
  std::string rest = text;
  while (!rest.empty() && lines.size() + 1 < most && columns(rest) > wide) {
    const std::size_t end = rest.rfind(' ', wide);
    if (end == std::string::npos || end == 0) break;
    lines.push_back(rest.substr(0, end));
    rest.erase(0, end + 1);
  }
  if (!rest.empty()) lines.push_back(one_line(rest, wide));
  return lines;
}

/// A figure moved and enlarged; its reason in words where there is none.
std::string placed(const figures::Figure& figure, int x, int y) {
  if (figure.svg.empty()) return words(x, y + 40, 20, "#3d4f66", "normal", one_line(figure.missing, 48));
  return fmt::format("<g transform=\"translate({} {}) scale({})\">{}</g>", x, y, kFigureScale, figure.svg);
}

std::string rendered_png(const std::string& svg) {
  Surface surface;
  render(svg, surface.context());
  return surface.png();
}

}  // namespace pulsewright::reports::png
