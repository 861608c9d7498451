#include "reports/figures/common.hpp"

#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

Axis voltage_axis(const analyzer::Diagnosis& diagnosis, const std::vector<double>& values, std::vector<double> include) {
  const bool volts = !diagnosis.capture.relative_levels && !diagnosis.capture.logic;
  if (!volts) include.clear();  // thresholds are volts
  Axis axis = axis_of(values, volts ? "V" : "1", std::move(include));
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

std::vector<double> widened(const std::vector<float>& values) { return {values.begin(), values.end()}; }

}  // namespace pulsewright::reports::figures
