#include "reports/figures/common.hpp"
#include "reports/figures/figures.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

Figure ringing_spectrum(const analyzer::Diagnosis& diagnosis, Size size) {
  const auto& ring = diagnosis.ringing;
  if (ring.spectrum_hz.empty() || ring.spectrum_v.size() != ring.spectrum_hz.size() ||
      ring.spectrum_hz.back() <= ring.spectrum_hz.front())
    return no_waveform(diagnosis, "nothing after the edge to take a spectrum of");
  Canvas canvas(size, "Spectrum of what follows the edge");
  const Axis frequency{ring.spectrum_hz.front(), ring.spectrum_hz.back(), "Hz", "frequency"};
  Axis volts = voltage_axis(diagnosis, ring.spectrum_v, {0});
  Panel panel(canvas, plot_area(size, 20), frequency, volts);
  panel.curve({ring.spectrum_hz, ring.spectrum_v}, "measured");
  if (ring.frequency_hz) panel.upright(*ring.frequency_hz, "mark", "ring at " + quantity(*ring.frequency_hz, "Hz"));
  panel.finish();
  return {canvas.finish(), "What follows the edge, by frequency.", {}};
}

}  // namespace pulsewright::reports::figures
