#include "reports/png/renderer.hpp"

#include <cairo.h>
#include <dlfcn.h>
#include <librsvg/rsvg.h>

#include <memory>
#include <stdexcept>

namespace pulsewright::reports::png {

namespace {

/// Functions of librsvg and of the libraries that it brings along.
class Libraries {
 public:
  static const Libraries& loaded() {
    static const Libraries libraries;
    return libraries;
  }

 private:
  void* const handle_ = ::dlopen("librsvg-2.so.2", RTLD_NOW | RTLD_LOCAL);

  template <class Function>
  Function* function(const char* name) const {
    void* const found = handle_ != nullptr ? ::dlsym(handle_, name) : nullptr;
    if (found == nullptr) throw std::runtime_error(std::string("no picture without librsvg: ") + ::dlerror());
    return reinterpret_cast<Function*>(found);
  }

 public:
  decltype(rsvg_handle_new_from_data)* const read = function<decltype(rsvg_handle_new_from_data)>("rsvg_handle_new_from_data");
  decltype(rsvg_handle_render_document)* const render = function<decltype(rsvg_handle_render_document)>("rsvg_handle_render_document");
  decltype(g_object_unref)* const release = function<decltype(g_object_unref)>("g_object_unref");
  decltype(g_clear_error)* const clear_error = function<decltype(g_clear_error)>("g_clear_error");
  decltype(cairo_image_surface_create)* const create_surface = function<decltype(cairo_image_surface_create)>("cairo_image_surface_create");
  decltype(cairo_surface_destroy)* const destroy_surface = function<decltype(cairo_surface_destroy)>("cairo_surface_destroy");
  decltype(cairo_surface_write_to_png_stream)* const write_png =
      function<decltype(cairo_surface_write_to_png_stream)>("cairo_surface_write_to_png_stream");
  decltype(cairo_create)* const create = function<decltype(cairo_create)>("cairo_create");
  decltype(cairo_destroy)* const destroy = function<decltype(cairo_destroy)>("cairo_destroy");
  decltype(cairo_set_source_rgb)* const set_source_rgb = function<decltype(cairo_set_source_rgb)>("cairo_set_source_rgb");
  decltype(cairo_paint)* const paint = function<decltype(cairo_paint)>("cairo_paint");
};

std::string png_of(const Libraries& use, cairo_surface_t* surface) {
  std::string bytes;
  const auto append = [](void* to, const unsigned char* data, unsigned size) {
    static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), size);
    return CAIRO_STATUS_SUCCESS;
  };
  if (use.write_png(surface, append, &bytes) != CAIRO_STATUS_SUCCESS) throw std::runtime_error("the picture cannot be encoded");
  return bytes;
}

}  // namespace

std::string rendered(const std::string& svg, int width, int height) {
  const Libraries& use = Libraries::loaded();
  const std::unique_ptr<cairo_surface_t, decltype(use.destroy_surface)> surface(use.create_surface(CAIRO_FORMAT_RGB24, width, height), use.destroy_surface);
  const std::unique_ptr<cairo_t, decltype(use.destroy)> context(use.create(surface.get()), use.destroy);
  use.set_source_rgb(context.get(), 1, 1, 1);
  use.paint(context.get());

  GError* error = nullptr;
  const auto fail = [&] {
    const std::string why = error != nullptr ? error->message : "no reason given";
    use.clear_error(&error);
    throw std::runtime_error("the picture cannot be drawn: " + why);
  };
  const std::unique_ptr<RsvgHandle, decltype(use.release)> document(use.read(reinterpret_cast<const guint8*>(svg.data()), svg.size(), &error), use.release);
  if (!document) fail();
  const RsvgRectangle all{0, 0, static_cast<double>(width), static_cast<double>(height)};
  if (use.render(document.get(), context.get(), &all, &error) == FALSE) fail();
  return png_of(use, surface.get());
}

}  // namespace pulsewright::reports::png
