#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

namespace {

using analyzer::Diagnosis;
using Trace = analyzer::FoldedBits::Trace;

constexpr std::size_t kMostPoints = 24000;  // over all traces: keeps the page small

/// A logic capture holds only its changes: each level stays until the next.
analyzer::FoldedBits::Trace stepped(const Trace& trace) {
  Trace steps{.one = trace.one, .t_s = {}, .v = {}};
  for (std::size_t i = 0; i < std::min(trace.t_s.size(), trace.v.size()); ++i) {
    if (i > 0 && trace.v[i] != trace.v[i - 1]) {
      steps.t_s.push_back(trace.t_s[i]);
      steps.v.push_back(trace.v[i - 1]);
    }
    steps.t_s.push_back(trace.t_s[i]);
    steps.v.push_back(trace.v[i]);
  }
  return steps;
}

std::string paths(const Diagnosis& diagnosis, const Panel& panel, const Axis& time, bool ones) {
  const auto& traces = diagnosis.figures.folded.traces;
  const std::size_t columns = std::clamp<std::size_t>(kMostPoints / 2 / std::max<std::size_t>(traces.size(), 1), 40, 400);
  std::string data;
  for (const Trace& trace : traces) {
    if (trace.one != ones) continue;
    if (diagnosis.capture.logic) {
      const Trace steps = stepped(trace);
      data += panel.steps({widened(steps.t_s), widened(steps.v)});
    } else {
      data += panel.path(thinned(widened(trace.t_s), widened(trace.v), time.low, time.high, columns));
    }
  }
  return data;
}

/// The falling edge belongs between VIL and VIH, and between the window's sides.
void gate(Panel& panel, const Diagnosis& diagnosis, const analyzer::Window& window, const Axis& time, const std::string& name) {
  if (window.empty()) return;
  const double from = window.min_s.value_or(0), to = window.max_s.value_or(time.high);
  const auto& s = diagnosis.settings;
  const bool volts = !diagnosis.capture.relative_levels && !diagnosis.capture.logic;
  const double low = volts ? s.vil_v : 0.3, high = volts ? s.vih_v : 0.7;
  panel.region(from, to, low, high, "window");
  panel.note(from, high, name, "window-text");
}

std::vector<double> all_voltages(const Diagnosis& diagnosis) {
  std::vector<double> values;
  for (const Trace& trace : diagnosis.figures.folded.traces) values.insert(values.end(), trace.v.begin(), trace.v.end());
  return values;
}

double shortest_time(const Diagnosis& diagnosis) {
  double first = 0;
  for (const Trace& trace : diagnosis.figures.folded.traces)
    if (!trace.t_s.empty()) first = std::min(first, static_cast<double>(trace.t_s.front()));
  return first;
}

double longest_time(const Diagnosis& diagnosis) {
  double last = 1e-9;
  for (const Trace& trace : diagnosis.figures.folded.traces)
    if (!trace.t_s.empty()) last = std::max(last, static_cast<double>(trace.t_s.back()));
  return last;
}

}  // namespace

Figure folded_bits(const Diagnosis& diagnosis, Size size) {
  const auto& folded = diagnosis.figures.folded;
  if (folded.traces.empty()) return no_waveform(diagnosis, "no bits were found to lay over each other");
  Canvas canvas(size, "Bits laid over each other on their rising edge, with the receiver's thresholds and timing windows");
  const Axis time{shortest_time(diagnosis), longest_time(diagnosis), "s", "after the rising edge"};
  Panel panel(canvas, plot_area(size, 84), time,
              voltage_axis(diagnosis, all_voltages(diagnosis), {diagnosis.settings.vil_v, diagnosis.settings.vih_v}));
  const auto& windows = diagnosis.settings.windows;
  gate(panel, diagnosis, windows.t0h, time, "0");
  gate(panel, diagnosis, windows.t1h, time, "1");
  for (const bool ones : {false, true})
    canvas.add(fmt::format(R"(<path {} d="{}"/>)", look(ones ? "ones" : "zeros"), paths(diagnosis, panel, time, ones)));
  draw_thresholds(panel, diagnosis);
  panel.finish();
  canvas.text(plot_area(size).left + 8, 14, "zeros", "measured-text");
  canvas.text(plot_area(size).left + 66, 14, "ones", "ones-text");
  return {canvas.finish(),
          "Single bits laid over each other. The falling edge of a 0 and of a 1 belongs inside the shaded gate marked so: from VIH to "
          "VIL, within the times that the chip allows.",
          {}};
}

}  // namespace pulsewright::reports::figures
