#pragma once
// The files of page/ and of the plotting library as string literals; written by page/embed.cmake.

#include <string_view>

namespace pulsewright::reports::html::assets {

extern const std::string_view page_css, page_js, plot_css, plot_js, plot_licence;

}  // namespace pulsewright::reports::html::assets
