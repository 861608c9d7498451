#include <fmt/format.h>

#include <algorithm>

#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

namespace {

using analyzer::Histogram;
using analyzer::Measured;
using analyzer::WidthStatistics;

/// First and last bin that hold something.
std::pair<double, double> occupied(const Histogram& histogram) {
  double first = histogram.first_s, last = first;
  bool any = false;
  for (std::size_t i = 0; i < histogram.counts.size(); ++i) {
    if (histogram.counts[i] == 0) continue;
    const double left = histogram.first_s + static_cast<double>(i) * histogram.bin_s;
    if (!any) first = left;
    last = left + histogram.bin_s;
    any = true;
  }
  return {first, last};
}

Axis time_axis(const WidthStatistics& widths, const analyzer::Window& window) {
  const auto [first, last] = occupied(widths.histogram);
  std::vector<double> inside{first, last};
  for (const auto& side : {window.min_s, window.max_s})
    if (side) inside.push_back(*side);
  if (!window.max_s) inside.push_back(last + 0.3 * (last - window.min_s.value_or(first)));
  for (const Measured* at : {&widths.at_vil_mean_s, &widths.at_vih_mean_s})
    if (*at) inside.push_back(**at);
  Axis axis = axis_of(inside, "s");
  axis.name = "high time";
  return axis;
}

void bars(Canvas& canvas, const Panel& panel, const Histogram& histogram, const Axis& time, std::string_view name) {
  std::string data;
  const double pixel_s = (time.high - time.low) / 380;
  for (std::size_t i = 0; i < histogram.counts.size(); ++i) {
    const double left = histogram.first_s + static_cast<double>(i) * histogram.bin_s;
    if (histogram.counts[i] == 0 || left < time.low || left > time.high) continue;
    const double right = std::max(left + histogram.bin_s, left + pixel_s);
    fmt::format_to(std::back_inserter(data), "M{:.1f} {:.1f}V{:.1f}H{:.1f}V{:.1f}Z", panel.px(left), panel.py(0),
                   panel.py(static_cast<double>(histogram.counts[i])), panel.px(right), panel.py(0));
  }
  canvas.add(fmt::format(R"(<path {} d="{}"/>)", look(name), data));
}

/// Distances to the window's sides, in words, from the figures of the diagnosis.
std::string room(const WidthStatistics& widths, const analyzer::Window& window) {
  std::string words;
  const auto say = [&](double inside_s, const char* side) {
    words += (words.empty() ? "" : ", ") + quantity(std::abs(inside_s), "s") + (inside_s >= 0 ? " above the " : " beyond the ") + side;
  };
  if (window.min_s && widths.min_s) say(*widths.min_s - *window.min_s, "shortest allowed");
  if (window.max_s && widths.max_s) {
    const double inside_s = *window.max_s - *widths.max_s;
    words += (words.empty() ? "" : ", ") + quantity(std::abs(inside_s), "s") +
             (inside_s >= 0 ? " below the longest allowed" : " beyond the longest allowed");
  }
  return words;
}

void receiver_span(Canvas& canvas, Panel& panel, const WidthStatistics& widths, double most) {
  if (!widths.at_vih_mean_s || !widths.at_vil_mean_s) return;
  const double left = panel.px(*widths.at_vih_mean_s), right = panel.px(*widths.at_vil_mean_s), y = panel.py(most * 1.16);
  canvas.add(fmt::format(R"(<path {} d="M{:.1f} {:.1f}v10m0 -5H{:.1f}m0 -5v10"/>)", look("mark"), left, y - 5, right));
  panel.note((*widths.at_vih_mean_s + *widths.at_vil_mean_s) / 2, most * 1.22, "between VIH and VIL", "tick", "middle");
}

}  // namespace

Figure width_histogram(const analyzer::Diagnosis& diagnosis, Bit which, Size size) {
  const bool zero = which == Bit::zero;
  const auto& widths = zero ? diagnosis.pulses.zero.high_width : diagnosis.pulses.one.high_width;
  const auto& window = zero ? diagnosis.settings.windows.t0h : diagnosis.settings.windows.t1h;
  const auto& counts = widths.histogram.counts;
  if (counts.empty() || widths.histogram.bin_s <= 0)
    return missing_figure(zero ? "no zeros were found in this capture" : "no ones were found in this capture");
  Canvas canvas(size, zero ? "High times of the zeros with the allowed window" : "High times of the ones with the allowed window");
  const double most = static_cast<double>(std::max<std::size_t>(*std::max_element(counts.begin(), counts.end()), 1));
  const Axis time = time_axis(widths, window);
  Panel panel(canvas, plot_area(size, 20), time, {0, most * 1.4, "1", "pulses"});
  if (!window.empty()) {
    panel.region(window.min_s.value_or(time.low), window.max_s.value_or(time.high), 0, most * 1.4, "window");
    if (window.min_s) panel.upright(*window.min_s, "window", "from " + quantity(*window.min_s, "s"));
    if (window.max_s) panel.upright(*window.max_s, "window", "to " + quantity(*window.max_s, "s"));
  }
  bars(canvas, panel, widths.histogram, time, zero ? "measured-fill" : "ones-fill");
  receiver_span(canvas, panel, widths, most);
  panel.finish();
  std::string caption = std::string("High times of the ") + (zero ? "zeros" : "ones") + " at half swing; shaded what the chip allows";
  const std::string distance = room(widths, window);
  caption += distance.empty() ? "." : ": " + distance + ".";
  return {canvas.finish(), caption, {}};
}

}  // namespace pulsewright::reports::figures
