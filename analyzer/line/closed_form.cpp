#include "analyzer/line/closed_form.hpp"

#include <algorithm>
#include <cmath>

namespace pulsewright::analyzer {

namespace {

double share(double v, double low_v, double high_v) { return (v - low_v) / (high_v - low_v); }

}  // namespace

std::optional<ClosedForm> closed_form(const EdgeResponse& rising, double low_v, double high_v, double noise_rms_v) {
  if (rising.t_s.size() < 8 || !(high_v > low_v)) return {};
  const auto begin = std::find_if(rising.t_s.begin(), rising.t_s.end(), [](double t) { return t >= 0; });
  if (begin == rising.t_s.end()) return {};
  const auto first = static_cast<std::size_t>(begin - rising.t_s.begin());
  const auto peak = static_cast<std::size_t>(std::max_element(rising.v.begin() + static_cast<std::ptrdiff_t>(first), rising.v.end()) - rising.v.begin());
  const double top = share(rising.v[peak], low_v, high_v), noise = noise_rms_v / (high_v - low_v);
  if (top > 1.02 + 2 * noise) {
    const double overshoot = std::min(top - 1, 0.99);
    ClosedForm form{.source_ratio = (1 - overshoot) / (1 + overshoot), .source_ratio_u = 0.05 + noise, .delay_s = {}};
    const auto dip = static_cast<std::size_t>(std::min_element(rising.v.begin() + static_cast<std::ptrdiff_t>(peak), rising.v.end()) - rising.v.begin());
    if (share(rising.v[dip], low_v, high_v) < 1 - noise && dip > peak) form.delay_s = (rising.t_s[dip] - rising.t_s[peak]) / 2;
    return form;
  }
  const double after = share(rising.v.back(), low_v, high_v);
  std::size_t flat = first;
  double least = 1e300;
  for (std::size_t i = first + 4; i + 4 < rising.v.size(); ++i) {  // the flattest place on the way up is the first step
    const double slope = rising.v[i + 4] - rising.v[i - 4];
    if (share(rising.v[i], low_v, high_v) > 0.9) break;
    if (slope < least) least = slope, flat = i;
  }
  if (flat == first || after <= 0) return {};
  const double level = std::clamp(share(rising.v[flat], low_v, high_v), 0.1, 1.0);
  return ClosedForm{.source_ratio = 2 / level - 1, .source_ratio_u = 0.4, .delay_s = {}};
}

}  // namespace pulsewright::analyzer
