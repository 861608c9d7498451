#include "analyzer/line/clamp.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace pulsewright::analyzer {

namespace {

constexpr double longest_step_s = 2.5e-9;  // the current of a clamp is smooth: a coarser grid than the waveform's will do

// Adds a step to an even grid, between grid points as a straight line; what it settles at, to `settled`.
void add_step(std::vector<double>& v, std::vector<Settled>& settled, double first_s, const StepResponseGrid& step, double edge_s, double swing_v) {
  const double place = (first_s - edge_s - step.first_s) / step.step_s;  // of v[0] on the step's grid
  const double whole = std::floor(place), part = place - whole;
  const auto shift = static_cast<std::ptrdiff_t>(whole);
  const auto count = static_cast<std::ptrdiff_t>(v.size()), length = static_cast<std::ptrdiff_t>(step.v.size());
  const std::ptrdiff_t from = std::clamp<std::ptrdiff_t>(-shift, 0, count);
  const std::ptrdiff_t to = std::clamp<std::ptrdiff_t>(length - 1 - shift, from, count);
  const double* s = step.v.data();
  for (std::ptrdiff_t i = from; i < to; ++i) v[static_cast<std::size_t>(i)] += swing_v * (s[i + shift] + part * (s[i + shift + 1] - s[i + shift]));
  settled.push_back({static_cast<std::size_t>(to), swing_v * step.final_v});
}

std::size_t stride_for(double step_s) { return std::max<std::size_t>(1, static_cast<std::size_t>(longest_step_s / step_s)); }

LineParameters without_instrument(LineParameters line) {
  line.bandwidth_hz = 0;
  return line;
}

// A single pole, exact for a signal that runs straight from step to step.
class Lag {
 public:
  Lag(double time_constant_s, double step_s) {
    if (time_constant_s <= 0) return;
    const double steps = step_s / time_constant_s;
    keep_ = std::exp(-steps);
    const double mean = (1 - keep_) / steps;
    now_ = 1 - mean, before_ = mean - keep_;
  }
  double so_far() const { return keep_ * y_ + before_ * x_; }  // of the next value, what is known before its x
  double now() const { return now_; }                          // what its x adds, for each unit
  double next(double x) {
    y_ = so_far() + now_ * x;
    x_ = x;
    return y_;
  }

 private:
  double keep_ = 0, now_ = 1, before_ = 0, x_ = 0, y_ = 0;
};

// A wave's way along the line, once or there and back: delay, and a loss exp(-sqrt(Rdc^2 + K^2 s) ways / (2 Z0)) drawn as a constant
// and three poles that agree with it at four real frequencies.
class Way {
 public:
  Way(const LineParameters& line, int ways, double step_s) {
    const double delay = std::max(ways * line.delay_s / step_s, ways - 1.0);
    steps_ = static_cast<std::size_t>(std::ceil(delay)), part_ = static_cast<double>(steps_) - delay;
    const double k_squared = line.skin_ohm * line.skin_ohm / (std::numbers::pi * 1e6);
    const auto loss = [&](double s) { return std::exp(-std::sqrt(line.loop_ohm * line.loop_ohm + k_squared * s) * ways / (2 * line.z0_ohm)); };
    Eigen::Matrix4d shares;
    Eigen::Vector4d wanted;
    for (int row = 0; row < 4; ++row) {
      const double s = row == 0 ? 0 : 1 / (time_constants[row - 1] * step_s);
      wanted[row] = loss(s), shares(row, 0) = 1;
      for (int k = 0; k < 3; ++k) shares(row, k + 1) = 1 / (1 + s * time_constants[k] * step_s);
    }
    Eigen::Map<Eigen::Vector4d>(shares_.data()) = shares.partialPivLu().solve(wanted);
  }

  // What arrives at step n of what was sent until then.
  double next(const std::vector<double>& sent, std::size_t n) {
    const double later = n + 1 >= steps_ && part_ > 0 ? sent[n + 1 - steps_] : 0;
    const double x = n >= steps_ ? sent[n - steps_] + part_ * (later - sent[n - steps_]) : part_ * later;
    return shares_[0] * x + shares_[1] * first_.next(x) + shares_[2] * second_.next(x) + shares_[3] * third_.next(x);
  }

 private:
  static constexpr double time_constants[3] = {1, 8, 64};  // in steps
  std::size_t steps_;
  double part_;
  std::array<double, 4> shares_;
  Lag first_{time_constants[0], 1}, second_{time_constants[1], 1}, third_{time_constants[2], 1};
};

}  // namespace

ClampEffect::ClampEffect(const LineParameters& seen, LineEnd end, double source_ohm, double step_s)
    : line_(seen), end_(end), source_ohm_(source_ohm), stride_(stride_for(step_s)),
      step_s_(static_cast<double>(stride_) * step_s) {}

std::vector<double> ClampEffect::on(const std::vector<double>& far_v, const Clamp& clamp) const {
  if (stride_ == 1) return on_own_steps(far_v, clamp);
  std::vector<double> thinned_v;
  for (std::size_t n = 0; n < far_v.size(); n += stride_) thinned_v.push_back(far_v[n]);
  const auto thin = on_own_steps(thinned_v, clamp);
  std::vector<double> shown(far_v.size());
  for (std::size_t k = 0; k < thin.size(); ++k) {
    const double slope = k + 1 < thin.size() ? (thin[k + 1] - thin[k]) / static_cast<double>(stride_) : 0;
    const std::size_t from = k * stride_, to = std::min(from + stride_, shown.size());
    for (std::size_t n = from; n < to; ++n) shown[n] = thin[k] + slope * static_cast<double>(n - from);
  }
  return shown;
}

std::vector<double> ClampEffect::on_own_steps(const std::vector<double>& far_v, const Clamp& clamp) const {
  const double z0 = line_.z0_ohm, open = 1 / (1 + z0 * line_.far_siemens), source = 1 + (source_ohm_ - z0) / (source_ohm_ + z0);
  const double source_s = line_.near_f * source_ohm_ * z0 / (source_ohm_ + z0);
  Lag node(z0 * open * line_.far_f, step_s_), source_lag(source_s, step_s_), near_lag(source_s, step_s_);
  Lag instrument(line_.bandwidth_hz > 0 ? 1 / (2 * std::numbers::pi * line_.bandwidth_hz) : 0, step_s_);
  Way back(line_, 2, step_s_), there(line_, 1, step_s_);
  const double own_ohm = z0 * open, share_siemens = 1 / (clamp.ohm + node.now() * own_ohm);
  std::vector<double> sent(far_v.size(), 0), shown(far_v.size(), 0);
  const auto first = std::find_if(far_v.begin(), far_v.end(), [&](double v) { return clamp.conduct_at(v); });
  for (auto n = static_cast<std::size_t>(first - far_v.begin()); n < far_v.size(); ++n) {
    const double arriving = back.next(sent, n), returned = source * source_lag.next(arriving) - arriving;
    const double by_wave_v = 2 * open * returned;
    const double current_a = share_siemens * clamp.beyond(far_v[n] + node.so_far() + node.now() * by_wave_v);
    const double change_v = node.next(by_wave_v - own_ohm * current_a);
    sent[n] = change_v - returned;
    shown[n] = instrument.next(end_ == LineEnd::far ? change_v : source * near_lag.next(there.next(sent, n)));
  }
  return shown;
}

ClampedLine::ClampedLine(const LineParameters& seen, LineEnd end, double rising_ohm, double falling_ohm, const LineGrid& grid, const LineWaves& waves)
    : effect_(seen, end, (rising_ohm + falling_ohm) / 2, static_cast<double>(stride_for(grid.step_s())) * grid.step_s()) {
  const LineSpectrum spectrum(without_instrument(seen), LineEnd::far, grid, waves);
  const std::size_t stride = stride_for(grid.step_s());
  rising_ = spectrum.step_response(rising_ohm).thinned(stride), falling_ = spectrum.step_response(falling_ohm).thinned(stride);
}

std::vector<double> ClampedLine::correction(std::span<const SourceEdge> edges, double low_v, double high_v, const Clamp& clamp, double first_s,
                                            std::size_t count) const {
  std::vector<double> v(count, 0);
  std::vector<Settled> settled{{0, edges.front().rising ? low_v : high_v}};
  for (const auto& edge : edges)
    add_step(v, settled, first_s, edge.rising ? rising_ : falling_, edge.time_s, edge.rising ? high_v - low_v : low_v - high_v);
  add_settled(std::move(settled), v);
  return effect_.on(v, clamp);
}

}  // namespace pulsewright::analyzer
