#include "analyzer/line/line_model.hpp"

#include <fftw3.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <map>
#include <memory>
#include <numbers>

#include "analyzer/fftw_planner.hpp"

namespace pulsewright::analyzer {

namespace {

using Complex = std::complex<double>;

constexpr double damping_over_span = 6;  // exp(-6) = 0.25 % of the next span wraps around
constexpr std::size_t lead_points = 16;  // grid points before t = 0: room for what the sigma factors leave of the corner

// Plans are made once for each length (planning is not thread-safe, executing is).
fftw_plan plan_for(std::size_t points) {
  static std::map<std::size_t, fftw_plan> plans;
  const std::scoped_lock lock(fftw_planner());
  if (const auto found = plans.find(points); found != plans.end()) return found->second;
  std::vector<Complex> in(points / 2 + 1);
  std::vector<double> out(points);
  const auto plan = fftw_plan_dft_c2r_1d(static_cast<int>(points), reinterpret_cast<fftw_complex*>(in.data()), out.data(),
                                         FFTW_ESTIMATE | FFTW_UNALIGNED);
  plans.emplace(points, plan);
  return plan;
}

// Plain quotient and product: std::complex operators would test for infinities at every frequency.
Complex over(Complex a, Complex b) {
  const double scale = 1 / (b.real() * b.real() + b.imag() * b.imag());
  return {(a.real() * b.real() + a.imag() * b.imag()) * scale, (a.imag() * b.real() - a.real() * b.imag()) * scale};
}
Complex times(Complex a, Complex b) {
  return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

// Principal root of what lies in the upper half-plane.
Complex root(Complex z) {
  const double r = std::sqrt(z.real() * z.real() + z.imag() * z.imag());
  const double large = std::sqrt((r + std::abs(z.real())) / 2), small = z.imag() / (2 * large);
  return z.real() >= 0 ? Complex(large, small) : Complex(small, large);
}

struct NodeTransfer {
  Complex a, b;
};

// V = a / (1 + R b) for a unit source at one complex frequency.
NodeTransfer transfer(const LineParameters& line, LineEnd end, const LineWaves::Wave& wave, Complex s) {
  const Complex twice = times(wave.once, wave.once);
  const Complex load = times(wave.impedance, line.far_siemens + s * line.far_f);
  const Complex reflected = over(1.0 - load, 1.0 + load);
  const Complex back = times(reflected, twice);
  const Complex line_in = over(1.0 - back, times(wave.impedance, 1.0 + back));
  const Complex a = end == LineEnd::near ? Complex(1) : over(times(1.0 + reflected, wave.once), 1.0 + back);
  return {a, line_in + s * line.near_f};
}

double sinc(double x) { return x == 0 ? 1 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x); }

double damping_of(double span_s) { return damping_over_span / span_s; }
Complex frequency(double span_s, std::size_t k) { return {damping_of(span_s), 2 * std::numbers::pi * static_cast<double>(k) / span_s}; }
double sigma_factor(const LineGrid& grid, std::size_t k) { return sinc(2 * static_cast<double>(k) / static_cast<double>(grid.points)); }

// exp(-s t) over the frequencies of a grid, one after the other: a geometric sequence.
class Delay {
 public:
  Delay(double t_s, double span_s)
      : here_(std::exp(-damping_of(span_s) * t_s)), step_(std::polar(1.0, -2 * std::numbers::pi * t_s / span_s)) {}
  Complex next() {
    const Complex value = here_;
    here_ = times(here_, step_);
    return value;
  }

 private:
  Complex here_, step_;
};

Complex ramp(Complex s, double edge_s, Complex delayed) {
  const Complex st = s * edge_s;
  if (std::norm(st) < 1e-6) return over(1.0 - st / 2.0 + times(st, st) / 6.0, s);
  return over(1.0 - delayed, times(s, st));
}

// Back to the time domain; the first `lead_points` lie before t = 0.
std::vector<double> invert(std::vector<Complex>& spectrum, const LineGrid& grid) {
  std::vector<double> v(grid.points);
  fftw_execute_dft_c2r(plan_for(grid.points), reinterpret_cast<fftw_complex*>(spectrum.data()), v.data());
  const double grow = std::exp(damping_of(grid.span_s) * grid.step_s());
  double undamped = 1;
  for (auto& each : v) each *= undamped, undamped *= grow;
  return v;
}

}  // namespace

double StepResponseGrid::at(double t_s) const {
  const double place = (t_s - first_s) / step_s;
  if (place <= 1) return place <= 0 ? 0 : v[0] + place * (v[1] - v[0]);
  const auto last = static_cast<double>(v.size() - 1);
  if (place >= last - 1) {
    if (place >= last) return final_v;
    return v[v.size() - 2] + (place - (last - 1)) * (v.back() - v[v.size() - 2]);
  }
  const auto k = static_cast<std::size_t>(place);
  const double x = place - static_cast<double>(k);
  const double before = v[k - 1], here = v[k], next = v[k + 1], after = v[k + 2];
  return here + x * 0.5 * (next - before + x * (2 * before - 5 * here + 4 * next - after + x * (3 * (here - next) + after - before)));
}

double StepResponseGrid::slope_at(double t_s) const {
  const double place = (t_s - first_s) / step_s;
  const auto last = static_cast<double>(v.size() - 1);
  if (place <= 0 || place >= last) return 0;
  const auto k = static_cast<std::size_t>(place);
  if (place <= 1 || place >= last - 1) return (v[k + 1] - v[k]) / step_s;
  const double x = place - static_cast<double>(k);
  const double before = v[k - 1], here = v[k], next = v[k + 1], after = v[k + 2];
  return 0.5 * (next - before + x * (2 * (2 * before - 5 * here + 4 * next - after) + 3 * x * (3 * (here - next) + after - before))) / step_s;
}

double StepResponseGrid::first_crossing_s(double level) const {
  for (std::size_t k = 1; k < v.size(); ++k) {
    if (v[k - 1] < level && v[k] >= level)
      return first_s + step_s * (static_cast<double>(k - 1) + (level - v[k - 1]) / (v[k] - v[k - 1]));
  }
  return std::numeric_limits<double>::quiet_NaN();
}

LineGrid LineGrid::fit_for(const LineParameters& line, double source_ohm, std::size_t most_points) {
  const double capacitance_f = line.delay_s / line.z0_ohm + line.far_f + line.near_f;
  const double rc_s = (source_ohm + line.loop_ohm / 2) * capacitance_f;
  const double gamma = std::abs((source_ohm - line.z0_ohm) / (source_ohm + line.z0_ohm));
  const double ring_s = gamma > 0.02 ? std::min(-2 * (line.delay_s + line.z0_ohm * line.far_f) / std::log(gamma), 1e-6) : 0;
  const double span_s = std::max({1e-6, 12 * line.delay_s + 4 * line.edge_s, 6 * std::max(rc_s, ring_s) + 2 * line.delay_s});
  const double wanted_step_s = std::clamp(line.edge_s / 5, 0.25e-9, 1.25e-9);
  std::size_t points = 1024;
  while (points < most_points && span_s / static_cast<double>(points) > wanted_step_s) points *= 2;
  return {points, span_s};
}

LineWaves::LineWaves(const LineParameters& line, const LineGrid& grid) : line_(line), span_s_(grid.span_s) {
  const double k_squared = line.skin_ohm * line.skin_ohm / (std::numbers::pi * 1e6), dc_squared = line.loop_ohm * line.loop_ohm;
  waves_.reserve(grid.points / 2 + 1);
  for (std::size_t k = 0; k <= grid.points / 2; ++k) {
    const Complex s = frequency(span_s_, k);
    const Complex loss = k_squared > 0 ? root(dc_squared + k_squared * s) : Complex(line.loop_ohm);
    const Complex shunt = s * (line.delay_s / line.z0_ohm);
    const Complex way = root(times(loss + s * (line.z0_ohm * line.delay_s), shunt));
    waves_.push_back({over(way, shunt), std::polar(std::exp(-way.real()), -way.imag())});
  }
}

bool LineWaves::serve(const LineParameters& line, const LineGrid& grid) const {
  return line.z0_ohm == line_.z0_ohm && line.delay_s == line_.delay_s && line.loop_ohm == line_.loop_ohm && line.skin_ohm == line_.skin_ohm &&
         grid.span_s == span_s_ && grid.points / 2 < waves_.size();
}

LineSpectrum::LineSpectrum(const LineParameters& line, LineEnd end, const LineGrid& grid) : LineSpectrum(line, end, grid, LineWaves(line, grid)) {}

LineSpectrum::LineSpectrum(const LineParameters& line, LineEnd end, const LineGrid& grid, const LineWaves& waves)
    : grid_(grid), a_(grid.points / 2 + 1), b_(grid.points / 2 + 1) {
  assert(waves.serve(line, grid));
  Delay lead(static_cast<double>(lead_points) * grid.step_s(), grid.span_s), edge(line.edge_s, grid.span_s);
  for (std::size_t k = 0; k < a_.size(); ++k) {
    const Complex s = frequency(grid.span_s, k);
    const auto node = transfer(line, end, waves[k], s);
    Complex source = times(ramp(s, line.edge_s, edge.next()), lead.next());
    if (line.bandwidth_hz > 0) source = over(source, 1.0 + s / (2 * std::numbers::pi * line.bandwidth_hz));
    a_[k] = times(node.a, source) * (sigma_factor(grid, k) / grid.span_s);
    b_[k] = node.b;
  }
  const double through = 1 + line.loop_ohm * line.far_siemens;
  dc_numerator_ = end == LineEnd::near ? 1 : 1 / through;
  dc_slope_ = line.far_siemens / through;
}

StepResponseGrid LineSpectrum::step_response(double source_ohm) const {
  StepResponseGrid response{.step_s = grid_.step_s(), .first_s = 0, .v = {}, .final_v = dc_numerator_ / (1 + source_ohm * dc_slope_)};
  response.first_s = -static_cast<double>(lead_points) * response.step_s;
  std::vector<Complex> spectrum(a_.size());
  for (std::size_t k = 0; k < a_.size(); ++k) spectrum[k] = over(a_[k], 1.0 + source_ohm * b_[k]);
  response.v = invert(spectrum, grid_);
  const double wrapped = std::exp(-damping_over_span);
  const double settled = response.final_v * wrapped / (1 - wrapped);
  for (auto& v : response.v) v -= settled;
  response.v.resize(grid_.points - lead_points);  // the last points hold the foot of the next period
  return response;
}

double superpose(std::span<const SourceEdge> edges, const StepResponseGrid& rising, const StepResponseGrid& falling, double t_s) {
  double sum = !edges.empty() && !edges.front().rising ? falling.final_v : 0;
  for (const auto& edge : edges) {
    const double t = t_s - edge.time_s;
    sum += edge.rising ? rising.at(t) : -falling.at(t);
  }
  return sum;
}

void add_running_sum(const std::vector<double>& changes, std::vector<double>& sum) {
  double level = 0;
  for (std::size_t i = 0, next = 0; i < sum.size(); i = next) {
    level += changes[i];
    for (next = i + 1; next < sum.size() && changes[next] == 0;) ++next;
    for (std::size_t k = i; k < next; ++k) sum[k] += level;
  }
}

std::vector<double> superpose_on_grid(std::span<const SourceEdge> edges, const StepResponseGrid& rising,
                                      const StepResponseGrid& falling, double first_s, double step_s, std::size_t count) {
  std::vector<double> sum(count, 0), settled(count + 1, 0);
  settled[0] = !edges.empty() && !edges.front().rising ? falling.final_v : 0;
  for (const auto& edge : edges) {
    const auto& step = edge.rising ? rising : falling;
    const double sign = edge.rising ? 1 : -1;
    const double begin = std::ceil((edge.time_s + step.first_s - first_s) / step_s);
    const double end = std::ceil((edge.time_s + step.end_s() - first_s) / step_s);
    const auto from = static_cast<std::size_t>(std::clamp(begin, 0.0, static_cast<double>(count)));
    const auto to = static_cast<std::size_t>(std::clamp(end, 0.0, static_cast<double>(count)));
    for (std::size_t i = from; i < to; ++i) sum[i] += sign * step.at(first_s + step_s * static_cast<double>(i) - edge.time_s);
    settled[to] += sign * step.final_v;
  }
  add_running_sum(settled, sum);
  return sum;
}

}  // namespace pulsewright::analyzer
