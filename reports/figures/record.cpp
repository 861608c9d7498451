#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"

namespace pulsewright::reports::figures {

namespace {

/// Closed outline of the smallest and largest values, a bar of at least one unit of height in every column of the canvas.
std::string outline(const analyzer::RecordView& view, const Panel& panel, double first_s, std::size_t bars) {
  const std::size_t count = std::min(view.min_v.size(), view.max_v.size());
  std::string data;
  for (std::size_t bar = 0; bar < bars; ++bar) {
    const std::size_t begin = bar * count / bars, end = std::max((bar + 1) * count / bars, begin + 1);
    if (begin >= count) break;
    const auto from = static_cast<long>(begin), to = static_cast<long>(std::min(end, count));
    const double low = *std::min_element(view.min_v.begin() + from, view.min_v.begin() + to);
    const double high = *std::max_element(view.max_v.begin() + from, view.max_v.begin() + to);
    if (!std::isfinite(low) || !std::isfinite(high)) continue;
    const double x = panel.px(first_s + (static_cast<double>(begin + end) / 2) * view.column_s);
    fmt::format_to(std::back_inserter(data), "M{:.1f} {:.1f}V{:.1f}", x, panel.py(high) - 0.5, panel.py(low) + 0.5);
  }
  return data;
}

}  // namespace

Figure record(const analyzer::Diagnosis& diagnosis, Size size) {
  const auto& view = diagnosis.figures.record;
  if (view.min_v.empty() || view.max_v.empty() || view.column_s <= 0)
    return no_waveform(diagnosis, "the diagnosis holds no view of the record");
  Canvas canvas(size, "The whole record: smallest and largest voltage over time");
  auto values = widened(view.min_v);
  const auto highest = widened(view.max_v);
  values.insert(values.end(), highest.begin(), highest.end());
  const double end_s = view.start_s + static_cast<double>(view.min_v.size()) * view.column_s;
  const Rect area = plot_area(size);
  Panel panel(canvas, area, {view.start_s, end_s, "s", "time"}, voltage_axis(diagnosis, values));
  const auto bars = static_cast<std::size_t>(std::max(area.right - area.left, 50.0));
  canvas.add(fmt::format(R"(<path {} d="{}"/>)", look("measured"), outline(view, panel, view.start_s, bars)));
  draw_thresholds(panel, diagnosis);
  panel.finish();
  return {canvas.finish(), "The whole record, thinned so that every column keeps its smallest and largest value.", {}};
}

}  // namespace pulsewright::reports::figures
