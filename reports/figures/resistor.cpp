#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "reports/figures/figures.hpp"
#include "reports/figures/panel.hpp"
#include "reports/markup.hpp"

namespace pulsewright::reports::figures {

namespace {

struct Paint {
  std::string_view name, colour;
};

// Colours of IEC 60062; the names below the drawing carry the meaning.
constexpr Paint kPaints[] = {{"black", "#1a1a1a"}, {"brown", "#7a4a24"}, {"red", "#c8261c"},    {"orange", "#e8791a"},
                             {"yellow", "#f0c818"}, {"green", "#2e8b47"}, {"blue", "#2b5fb8"},   {"violet", "#7d4aa8"},
                             {"grey", "#8a8f94"},   {"white", "#f7f7f5"}, {"gold", "#b8902c"},   {"silver", "#b9bec3"}};

std::string_view colour_of(const std::string& name) {
  const auto* found = std::find_if(std::begin(kPaints), std::end(kPaints), [&](const Paint& p) { return p.name == name; });
  return found == std::end(kPaints) ? std::string_view("#ffffff") : found->colour;
}

}  // namespace

Figure resistor(const std::vector<std::string>& colour_bands, const std::string& label, Size size) {
  if (colour_bands.empty()) return missing_figure("no resistor is suggested");
  std::string spoken = label + ", colour bands";
  for (const auto& band : colour_bands) spoken += " " + band;
  Canvas canvas(size, spoken);
  const double left = 26, right = size.width - 26.0, top = 10, bottom = size.height - 32.0;
  canvas.add(fmt::format(R"(<path class="lead" fill="none" stroke="#8b979f" stroke-width="4" d="M0 {0:.1f}H{1}"/>)",
                         (top + bottom) / 2, size.width));
  canvas.add(fmt::format(
      R"(<rect class="body" fill="#ead9b8" stroke="#8a7a58" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" rx="14"/>)", left,
      top, right - left, bottom - top));
  // The tolerance band stands apart, so that the code is read from the right end.
  const auto count = static_cast<double>(colour_bands.size());
  const double pitch = (right - left - 44) / std::max(count, 2.0), first = left + 10 + pitch / 2;
  for (std::size_t i = 0; i < colour_bands.size(); ++i) {
    const bool tolerance = i + 1 == colour_bands.size() && i > 0;
    const double middle = first + static_cast<double>(i) * pitch + (tolerance ? 22 : 0);
    canvas.add(fmt::format(
        R"(<rect class="colour-band" fill="{}" stroke="#5b5140" stroke-width="0.6" x="{:.1f}" y="{:.1f}" width="16" height="{:.1f}"/>)",
        colour_of(colour_bands[i]), middle - 8, top, bottom - top));
    canvas.text(middle, bottom + 20, colour_bands[i], "band-name", "middle");
  }
  return {canvas.finish(), spoken, {}};
}

}  // namespace pulsewright::reports::figures
