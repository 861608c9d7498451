#pragma once
// A driver, a resistor, a cable and a pixel: the voltage at either end of the line.
//
//   ramp --- R --- near ====== Z0, Td, loss ====== far --- (probe, scope)
//                   |                               |
//                  C_near                       C_far, R_far
//
// Frequency domain, chain (ABCD) matrices. Series impedance of the whole line Z = sqrt(Rdc^2 + K^2 s) + s Z0 Td with
// K sqrt(pi 1 MHz) the resistance that the skin effect gives at 1 MHz; shunt admittance Y = s Td / Z0.

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace pulsewright::analyzer {

struct LineParameters {
  double z0_ohm = 100, delay_s = 50e-9;
  double loop_ohm = 0;         ///< both conductors, direct current, whole length
  double skin_ohm = 0;         ///< further resistance at 1 MHz by skin effect, whole length; grows with sqrt(f)
  double near_f = 0;           ///< capacitance at the near node, probe included
  double far_f = 10e-12;       ///< capacitance at the far node, probe included
  double far_siemens = 0;      ///< conductance at the far end: 0 is an open end
  double edge_s = 4e-9;        ///< 0-100 % ramp of the driver
  double bandwidth_hz = 0;     ///< -3 dB, single pole; 0: looked at without an instrument
};

enum class LineEnd { near, far };

/// Response to a unit ramp of the driver that begins at t = 0.
struct StepResponseGrid {
  double step_s = 0, first_s = 0;
  std::vector<double> v;
  double final_v = 1;

  /// Cubic between grid points; 0 before, `final_v` after the grid.
  double at(double t_s) const;
  double slope_at(double t_s) const;  ///< derivative of the same, a second
  double end_s() const { return first_s + step_s * static_cast<double>(v.size() - 1); }
  /// First passage through `level` in seconds; NaN when it never gets there.
  double first_crossing_s(double level) const;
  StepResponseGrid thinned(std::size_t stride) const;  ///< every `stride`-th point
};

/// Time grid of the solver: `points` samples (a power of two serves best) over `span_s`.
struct LineGrid {
  std::size_t points = 2048;
  double span_s = 2048e-9;

  double step_s() const { return span_s / static_cast<double>(points); }

  /// A grid long enough for the line to settle behind this source (6 time constants of the slowest decay) and fine enough
  /// for its edge, within `most_points`.
  static LineGrid fit_for(const LineParameters& line, double source_ohm, std::size_t most_points = 4096);
};

/// Impedance of the line and what one passage leaves, over the frequencies of a grid: what takes longest to compute, and the same for
/// any source, load, edge and instrument.
class LineWaves {
 public:
  struct Wave {
    std::complex<double> impedance, once;
  };

  LineWaves(const LineParameters& line, const LineGrid& grid);
  /// Whether they are those of this line on this grid; a grid with fewer points over the same span has the same frequencies.
  bool serve(const LineParameters& line, const LineGrid& grid) const;
  const Wave& operator[](std::size_t k) const { return waves_[k]; }

 private:
  LineParameters line_;
  double span_s_;
  std::vector<Wave> waves_;
};

/// Everything of a line and its load but the source resistance: V(s) = a / (1 + R b). One sweep over resistors costs one
/// division and one transform each.
///
/// Numerical inversion of the Laplace transform by FFT along Re s = 6 / span: what wraps around is 0.25 % of what has not
/// settled within the span. Sigma factors (Lanczos) keep the ramp's corners quiet; they smooth over about one grid step.
class LineSpectrum {
 public:
  LineSpectrum(const LineParameters& line, LineEnd end, const LineGrid& grid);
  /// The same with waves made before; they must serve.
  LineSpectrum(const LineParameters& line, LineEnd end, const LineGrid& grid, const LineWaves& waves);
  StepResponseGrid step_response(double source_ohm) const;

 private:
  LineGrid grid_;
  double dc_numerator_ = 1, dc_slope_ = 0;
  std::vector<double> a_real_, a_imag_, b_real_, b_imag_;
};

/// One edge of the driver.
struct SourceEdge {
  double time_s = 0;
  bool rising = true;
};

/// The waveform that a train of edges makes: low_v plus the swing times the sum of shifted steps. Edges alternate; before
/// the first the line rests in the state that the first edge leaves.
/// The rising and the falling step differ where the driver's two sides differ: each is exact for a line settled before it.
double superpose(std::span<const SourceEdge> edges, const StepResponseGrid& rising, const StepResponseGrid& falling, double t_s);

/// The same on an even grid from `first_s`, for long trains.
std::vector<double> superpose_on_grid(std::span<const SourceEdge> edges, const StepResponseGrid& rising,
                                      const StepResponseGrid& falling, double first_s, double step_s, std::size_t count);

/// A step that has settled: from an index on, everything is higher by as much.
struct Settled {
  std::size_t from = 0;
  double by = 0;
};
/// Adds what such steps leave behind to a waveform.
void add_settled(std::vector<Settled> steps, std::vector<double>& waveform);

}  // namespace pulsewright::analyzer
