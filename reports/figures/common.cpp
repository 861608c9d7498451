#include "reports/figures/common.hpp"

#include <algorithm>
#include <cstddef>

#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

Axis voltage_axis(const analyzer::Diagnosis& diagnosis, const std::vector<double>& values, std::vector<double> include) {
  const bool volts = !diagnosis.capture.relative_levels && !diagnosis.capture.logic;
  if (!volts) include.clear();  // thresholds are volts
  Axis axis = axis_of(values, volts ? "V" : "1", include);
  if (!volts) axis.name = diagnosis.capture.logic ? "level" : "part of the swing";
  return axis;
}

void draw_thresholds(Panel& panel, const analyzer::Diagnosis& diagnosis) {
  if (diagnosis.capture.relative_levels || diagnosis.capture.logic) return;
  panel.across(diagnosis.settings.vih_v, "limit", "VIH " + quantity(diagnosis.settings.vih_v, "V"));
  panel.across(diagnosis.settings.vil_v, "limit", "VIL " + quantity(diagnosis.settings.vil_v, "V"));
}

Figure no_waveform(const analyzer::Diagnosis& diagnosis, std::string otherwise) {
  if (diagnosis.capture.logic) return missing_figure("the capture is logic levels: it shows when the line changed, not how");
  return missing_figure(std::move(otherwise));
}

Points run_together(const analyzer::EdgeResponse& response, const analyzer::Measured& amplitude_v) {
  const Points whole{response.t_s, response.v};
  if (!amplitude_v || response.sd_v.size() != response.t_s.size() || response.t_s.size() < 20) return whole;
  const std::size_t longest = response.t_s.size() / 20;
  const auto parted = [&](std::size_t i) { return response.sd_v[i] > 0.1 * *amplitude_v; };
  const auto middle = static_cast<std::size_t>(std::lower_bound(response.t_s.begin(), response.t_s.end(), 0) - response.t_s.begin());
  std::size_t last = middle, first = middle;
  for (std::size_t i = middle; i < response.t_s.size() && i - last <= longest; ++i)
    if (!parted(i)) last = i;
  for (std::size_t i = middle; i-- > 0 && first - i <= longest;)
    if (!parted(i)) first = i;
  if (last - middle <= longest) last = response.t_s.size() - 1;  // the edge itself differs: show what there is
  if (last + 1 + longest >= response.t_s.size()) last = response.t_s.size() - 1;
  if (middle - first <= longest || first <= longest) first = 0;
  const auto from = static_cast<std::ptrdiff_t>(first), to = static_cast<std::ptrdiff_t>(last + 1);
  return {{response.t_s.begin() + from, response.t_s.begin() + to}, {response.v.begin() + from, response.v.begin() + to}};
}

std::vector<double> widened(const std::vector<float>& values) { return {values.begin(), values.end()}; }

}  // namespace pulsewright::reports::figures
