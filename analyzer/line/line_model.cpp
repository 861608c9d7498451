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
#include "analyzer/line/line_frequency.hpp"

namespace pulsewright::analyzer {

namespace {

// The transform back of so many points, and what undoes the damping at each of them but the last.
struct Inversion {
  fftw_plan plan;
  std::vector<double> growth;
};

std::vector<double> growth_of(std::size_t points) {
  const double grow = std::exp(damping_over_span / static_cast<double>(points));
  std::vector<double> growth(points - lead_points);
  double undamped = 1;
  for (double& each : growth) each = undamped, undamped *= grow;
  return growth;
}

// Made once for each length (planning is not thread-safe, executing is). Eigen aligns its arrays as FFTW asks for.
const Inversion& inversion_for(std::size_t points) {
  static std::map<std::size_t, Inversion> made;
  const std::scoped_lock lock(fftw_planner());
  if (const auto found = made.find(points); found != made.end()) return found->second;
  Eigen::VectorXcd in(static_cast<Eigen::Index>(points / 2 + 1));
  Eigen::VectorXd out(static_cast<Eigen::Index>(points));
  const auto plan = fftw_plan_dft_c2r_1d(static_cast<int>(points), reinterpret_cast<fftw_complex*>(in.data()), out.data(), FFTW_ESTIMATE);
  return made.emplace(points, Inversion{plan, growth_of(points)}).first->second;
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

}  // namespace

std::vector<double> invert(Eigen::VectorXcd& spectrum, const LineGrid& grid) {
  Eigen::VectorXd damped(static_cast<Eigen::Index>(grid.points));
  assert(fftw_alignment_of(damped.data()) == 0 && fftw_alignment_of(reinterpret_cast<double*>(spectrum.data())) == 0);
  const Inversion& inversion = inversion_for(grid.points);
  fftw_execute_dft_c2r(inversion.plan, reinterpret_cast<fftw_complex*>(spectrum.data()), damped.data());
  std::vector<double> v(inversion.growth.size());
  for (std::size_t i = 0; i < v.size(); ++i) v[i] = damped[static_cast<Eigen::Index>(i)] * inversion.growth[i];
  return v;
}

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

StepResponseGrid StepResponseGrid::thinned(std::size_t stride) const {
  StepResponseGrid thin{.step_s = static_cast<double>(stride) * step_s, .first_s = first_s, .v = {}, .final_v = final_v};
  thin.v.reserve(v.size() / stride + 1);
  for (std::size_t n = 0; n < v.size(); n += stride) thin.v.push_back(v[n]);
  return thin;
}

LineGrid LineGrid::fit_for(const LineParameters& line, double source_ohm, std::size_t most_points) {
  const double capacitance_f = line.delay_s / line.z0_ohm + line.far_f + line.near_f;
  const double rc_s = (source_ohm + line.loop_ohm / 2) * capacitance_f;
  const double gamma = std::abs((source_ohm - line.z0_ohm) / (source_ohm + line.z0_ohm));
  const double ring_s = gamma > 0.02 ? std::min(-2 * (line.delay_s + line.z0_ohm * line.far_f) / std::log(gamma), 1e-6) : 0;
  const double span_s = std::max({1e-6, 12 * line.delay_s + 4 * line.edge_s, 6 * std::max(rc_s, ring_s) + 2 * line.delay_s});
  const double wanted_step_s = std::clamp(line.edge_s / 5, 0.25e-9, 1.25e-9);
  std::size_t points = std::min<std::size_t>(1024, most_points);
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
    : grid_(grid) {
  const std::size_t count = grid.points / 2 + 1;
  for (auto* each : {&a_real_, &a_imag_, &b_real_, &b_imag_}) each->resize(count);
  assert(waves.serve(line, grid));
  Delay lead(static_cast<double>(lead_points) * grid.step_s(), grid.span_s), edge(line.edge_s, grid.span_s);
  SigmaFactors sigma(grid);
  for (std::size_t k = 0; k < count; ++k) {
    const Complex s = frequency(grid.span_s, k);
    const auto node = transfer(line, end, waves[k], s);
    Complex source = times(ramp(s, line.edge_s, edge.next()), lead.next());
    if (line.bandwidth_hz > 0) source = over(source, 1.0 + s / (2 * std::numbers::pi * line.bandwidth_hz));
    const Complex a = times(node.a, source) * (sigma.next() / grid.span_s);
    a_real_[k] = a.real(), a_imag_[k] = a.imag(), b_real_[k] = node.b.real(), b_imag_[k] = node.b.imag();
  }
  const double through = 1 + line.loop_ohm * line.far_siemens;
  dc_numerator_ = end == LineEnd::near ? 1 : 1 / through;
  dc_slope_ = line.far_siemens / through;
}

StepResponseGrid LineSpectrum::step_response(double source_ohm) const {
  StepResponseGrid response{.step_s = grid_.step_s(), .first_s = 0, .v = {}, .final_v = dc_numerator_ / (1 + source_ohm * dc_slope_)};
  response.first_s = -static_cast<double>(lead_points) * response.step_s;
  Eigen::VectorXcd spectrum(static_cast<Eigen::Index>(a_real_.size()));
  for (std::size_t k = 0; k < a_real_.size(); ++k)
    spectrum[static_cast<Eigen::Index>(k)] = over({a_real_[k], a_imag_[k]}, {1 + source_ohm * b_real_[k], source_ohm * b_imag_[k]});
  response.v = invert(spectrum, grid_);
  const double wrapped = std::exp(-damping_over_span);
  const double settled = response.final_v * wrapped / (1 - wrapped);
  for (auto& v : response.v) v -= settled;
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

void add_settled(std::vector<Settled> steps, std::vector<double>& waveform) {
  std::stable_sort(steps.begin(), steps.end(), [](const Settled& a, const Settled& b) { return a.from < b.from; });
  double level = 0;
  for (std::size_t k = 0; k < steps.size();) {
    const std::size_t from = steps[k].from;
    double change = 0;
    for (; k < steps.size() && steps[k].from == from; ++k) change += steps[k].by;
    level += change;
    const std::size_t to = k < steps.size() ? std::min(steps[k].from, waveform.size()) : waveform.size();
    for (std::size_t i = from; i < to; ++i) waveform[i] += level;
  }
}

std::vector<double> superpose_on_grid(std::span<const SourceEdge> edges, const StepResponseGrid& rising,
                                      const StepResponseGrid& falling, double first_s, double step_s, std::size_t count) {
  std::vector<double> sum(count, 0);
  std::vector<Settled> settled{{0, !edges.empty() && !edges.front().rising ? falling.final_v : 0}};
  for (const auto& edge : edges) {
    const auto& step = edge.rising ? rising : falling;
    const double sign = edge.rising ? 1 : -1;
    const double begin = std::ceil((edge.time_s + step.first_s - first_s) / step_s);
    const double end = std::ceil((edge.time_s + step.end_s() - first_s) / step_s);
    const auto from = static_cast<std::size_t>(std::clamp(begin, 0.0, static_cast<double>(count)));
    const auto to = static_cast<std::size_t>(std::clamp(end, 0.0, static_cast<double>(count)));
    for (std::size_t i = from; i < to; ++i) sum[i] += sign * step.at(first_s + step_s * static_cast<double>(i) - edge.time_s);
    settled.push_back({to, sign * step.final_v});
  }
  add_settled(std::move(settled), sum);
  return sum;
}

}  // namespace pulsewright::analyzer
