#include "analyzer/line/line_problem.hpp"

#include <algorithm>
#include <cmath>

#include "analyzer/line/tables.hpp"

namespace pulsewright::analyzer {

namespace {

using Vector = LineProblem::Vector;

constexpr double model_error_ratio = 0.02;  // of the swing, for each bin: what the model leaves out, correlated between bins
constexpr double near_end_f = 4.5e-12;      // pin 2 pF to 6 pF, pads and terminal 1 pF or so (from memory), root mean square
constexpr double clamp_knee_v = 0.45;       // least voltage beyond a rail at which a diode may conduct
constexpr double clamp_error_v = 0.05;      // a knee drawn as a corner
constexpr double huber = 3;
constexpr std::size_t clamp_edges = 4;      // edges before the own one that the clamped response remembers

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Far instant minus the latest near instant of the same direction.
std::optional<DelayObservation> observe_delay(const LineNode& near, const LineNode& far, bool rising) {
  std::vector<double> delays;
  std::size_t n = 0;
  for (const auto& t : far.transitions) {
    if (t.rising != rising) continue;
    while (n + 1 < near.transitions.size() && near.transitions[n + 1].mid_s <= t.mid_s + 15e-9) ++n;
    std::size_t k = n;
    if (near.transitions.empty() || near.transitions[k].mid_s > t.mid_s + 15e-9) continue;
    if (near.transitions[k].rising != rising) {
      if (k == 0) continue;
      --k;
    }
    delays.push_back(t.mid_s - near.transitions[k].mid_s);
  }
  if (delays.size() < 3) return {};
  const double middle = median_of(delays);
  for (auto& d : delays) d = std::abs(d - middle);
  const double spread = 1.48 * median_of(delays);
  return DelayObservation{rising, middle, std::max({spread / std::sqrt(static_cast<double>(delays.size())), 0.05e-9}) + 0.3e-9};
}

}  // namespace

double Response::Correction::at(double t_s) const {
  const double place = (t_s - first_s) / step_s;
  if (!(place >= 0) || place >= static_cast<double>(v.size()) - 1) return 0;
  const auto k = static_cast<std::size_t>(place);
  return v[k] + (place - static_cast<double>(k)) * (v[k + 1] - v[k]);
}

double Response::Correction::slope_at(double t_s) const {
  const double place = (t_s - first_s) / step_s;
  if (!(place >= 0) || place >= static_cast<double>(v.size()) - 1) return 0;
  const auto k = static_cast<std::size_t>(place);
  return (v[k + 1] - v[k]) / step_s;
}

LineProblem::LineProblem(std::vector<EdgeClass> classes, const FitInput& input) : classes_(std::move(classes)), priors_(input.priors) {
  for (const auto& each : classes_) {
    (each.end == LineEnd::far ? has_far_ : has_near_) = true;
    alignment_[static_cast<std::size_t>(each.end)] = each.alignment_ratio;
  }
  set_levels(input);
  set_priors();
  name_shifts();
  both_probes_at_once_ = has_far_ && has_near_ && input.same_record;
  if (input.other_end == nullptr || !input.same_record) return;
  const bool node_is_near = input.node->at == ProbePosition::near;
  const auto& near = node_is_near ? *input.node : *input.other_end;
  const auto& far = node_is_near ? *input.other_end : *input.node;
  for (const bool rising : {true, false})
    if (const auto seen = observe_delay(near, far, rising)) delays_.push_back(*seen);
}

void LineProblem::set_levels(const FitInput& input) {
  const auto& levels = *input.node->levels;
  low_v_ = *levels.low_v, high_v_ = *levels.high_v, swing_v_ = high_v_ - low_v_;
  if (!input.node->dwells) {
    low_u_v_ = std::max(levels.low_v.u, 0.02 * swing_v_), high_u_v_ = std::max(levels.high_v.u, 0.02 * swing_v_);
    return;
  }
  // Steps taken for states: the states lie at or beyond the extremes, less the noise.
  low_v_ = std::min(low_v_, input.node->lowest_v + 2 * input.node->noise_rms_v);
  high_v_ = std::max(high_v_, input.node->highest_v - 2 * input.node->noise_rms_v);
  swing_v_ = high_v_ - low_v_, low_u_v_ = 0.05 * swing_v_, high_u_v_ = 0.1 * swing_v_;
}

void LineProblem::set_priors() {
  const auto& p = priors_;
  prior_mean_ = Vector::Zero(fit_count), prior_sd_ = Vector::Ones(fit_count);
  const auto set = [&](std::size_t k, double mean, double sd) {
    prior_mean_[static_cast<Eigen::Index>(k)] = mean, prior_sd_[static_cast<Eigen::Index>(k)] = sd;
  };
  set(i_z0, std::log(p.z0_ohm.mean), p.z0_ohm.sd / p.z0_ohm.mean);
  set(i_ratio, std::log(0.8), 1.5);
  set(i_sides, 0, p.sides_ratio_sd);
  if (p.length_m > 0) {
    set(i_delay, std::log(p.length_m * p.delay_s_per_m), std::hypot(p.delay_u_s_per_m / p.delay_s_per_m, 0.03));
  } else {
    set(i_delay, std::log(40e-9), 1.2);
  }
  set(i_pixel, std::log(p.pixel_f), p.pixel_log_sd);
  set(i_edge, std::log(p.edge_s), p.edge_log_sd);
  set(i_bandwidth, std::log(p.bandwidth_hz), p.bandwidth_log_sd);
  set(i_loop, 0, p.loop_log_sd);
  set(i_skin, 0, 0.6);
  set(i_low, low_v_, low_u_v_);
  set(i_high, high_v_, high_u_v_);
  // A silicon junction at some milliamperes; from a bare diode to a diode behind some kiloohm.
  set(i_clamp_high, 0.72, 0.12);
  set(i_clamp_low, 0.72, 0.12);
  set(i_clamp_ohm, std::log(70), 1.5);
}

void LineProblem::name_shifts() {
  shift_of_.clear(), shifts_ = 0;
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    const auto& each = classes_[c];
    // Aligned by turning points, which sit at the same share of the first arrival whatever the bits.
    const bool shared = each.alignment_ratio != 0.5;
    std::optional<std::size_t> same;
    for (std::size_t k = 0; shared && k < c && !same; ++k)
      if (classes_[k].end == each.end && classes_[k].rising == each.rising) same = shift_of_[k];
    shift_of_.push_back(same ? *same : shifts_++);
  }
}

std::array<Bound, fit_count> LineProblem::bounds() const {
  const auto logs = [](double a, double b) { return Bound{std::log(a), std::log(b)}; };
  return {logs(20, 300),         logs(0.02, 20),       Bound{-0.7, 0.7},
          logs(1e-9, 3e-6),      logs(1e-12, 400e-12), logs(0.5e-9, 120e-9),
          logs(2e6, 2e9),        Bound{-2.5, 2.5},     Bound{-2.5, 2.5},
          Bound{low_v_ - 0.3 * swing_v_, low_v_ + 0.3 * swing_v_},
          Bound{high_v_ - 0.3 * swing_v_, high_v_ + 0.3 * swing_v_},
          Bound{0.3, 1.2},       Bound{0.3, 1.2},      logs(1, 1e5)};
}

std::size_t LineProblem::rows() const {
  std::size_t count = fit_count + 1 + delays_.size();
  for (const auto& each : classes_) count += each.t_s.size();
  return count;
}

bool LineProblem::clamps_may_conduct(const LinePoint& line) const {
  const double reach = 2 * line.line.z0_ohm / (line.rising_ohm + line.line.z0_ohm) - 1;  // first arrival beyond the new state
  double top_v = line.high_v + reach * swing_v_, bottom_v = line.low_v - reach * swing_v_;
  if (has_far_) {
    top_v = high_v_, bottom_v = low_v_;
    for (const auto& each : classes_) {
      if (each.end != LineEnd::far) continue;
      const auto [least, most] = std::minmax_element(each.v.begin(), each.v.end());
      top_v = std::max(top_v, *most), bottom_v = std::min(bottom_v, *least);
    }
  }
  return top_v > priors_.supply_v + clamp_knee_v || bottom_v < -clamp_knee_v;
}

LineParameters LineProblem::probed(const LinePoint& p, LineEnd end) const {
  auto line = p.line;
  line.bandwidth_hz = p.bandwidth_hz, line.near_f = near_f_;
  if (end == LineEnd::far || both_probes_at_once_) line.far_f += priors_.probe_f;
  if (end == LineEnd::near || both_probes_at_once_) line.near_f += priors_.probe_f;
  return line;
}

Response LineProblem::response_at(const Vector& x) const {
  const auto p = point_at({x.data(), x.data() + fit_count}, priors_);
  Response response;
  response.waves = std::make_shared<const LineWaves>(p.line, grid_);
  for (const auto end : {LineEnd::near, LineEnd::far}) {
    if (end == LineEnd::far ? !has_far_ : !has_near_) continue;
    response.spectra[static_cast<std::size_t>(end)] = std::make_shared<const LineSpectrum>(probed(p, end), end, grid_, *response.waves);
  }
  add_steps(response, p);
  if (clamps_) add_clamped_lines(response, p), add_corrections(response, p, x);
  return response;
}

Response LineProblem::response_behind(const Vector& x, const Response& known) const {
  Response response;
  response.waves = known.waves, response.spectra = known.spectra;
  add_steps(response, point_at({x.data(), x.data() + fit_count}, priors_));
  return response;
}

void LineProblem::add_steps(Response& response, const LinePoint& p) const {
  for (std::size_t end = 0; end < response.spectra.size(); ++end) {
    if (!response.spectra[end]) continue;
    auto rising = response.spectra[end]->step_response(p.rising_ohm);
    auto falling = p.falling_ohm == p.rising_ohm ? rising : response.spectra[end]->step_response(p.falling_ohm);
    response.at_end[end] = Steps{std::move(rising), std::move(falling)};
  }
}

void LineProblem::add_clamped_lines(Response& response, const LinePoint& p) const {
  for (const auto end : {LineEnd::near, LineEnd::far}) {
    if (end == LineEnd::far ? !has_far_ : !has_near_) continue;
    response.clamped[static_cast<std::size_t>(end)] =
        std::make_shared<const ClampedLine>(probed(p, end), end, p.rising_ohm, p.falling_ohm, grid_, *response.waves);
  }
}

void LineProblem::add_corrections(Response& response, const LinePoint& p, const Vector& x) const {
  response.corrections.clear();
  for (std::size_t c = 0; c < classes_.size(); ++c)
    response.corrections.push_back(correction(c, *response.clamped[static_cast<std::size_t>(classes_[c].end)], p, x));
}

Response::Correction LineProblem::correction(std::size_t c, const ClampedLine& line, const LinePoint& p, const Vector& x) const {
  const auto& each = classes_[c];
  const auto edges = source_edges(c, x);
  const std::span recent(edges.begin() + static_cast<std::ptrdiff_t>(each.own > clamp_edges ? each.own - clamp_edges : 0), edges.end());
  const double first_s = recent.front().time_s - 2 * line.step_s();
  const auto count = static_cast<std::size_t>(std::max(8.0, (each.t_s.back() - first_s) / line.step_s() + 3));
  return {.first_s = first_s, .step_s = line.step_s(), .shift_s = x[static_cast<Eigen::Index>(shift_index(c))],
          .v = line.correction(recent, p.low_v, p.high_v, p.clamp, first_s, count)};
}

std::vector<SourceEdge> LineProblem::source_edges(std::size_t c, const Vector& x) const {
  const auto& each = classes_[c];
  auto edges = each.edges;
  for (std::size_t e = 0; e < edges.size(); ++e) edges[e].time_s += x[static_cast<Eigen::Index>(shift_index(owner_of(c, e)))];
  return edges;
}

// The class whose shift moves an edge.
std::size_t LineProblem::owner_of(std::size_t c, std::size_t edge) const {
  const auto& each = classes_[c];
  const int owner = each.class_of[edge] >= 0 ? each.class_of[edge] + offset_of(each.end) : like(each.end, each.edges[edge].rising, c);
  return static_cast<std::size_t>(owner);
}

std::vector<double> LineProblem::model(std::size_t c, const Vector& x, const Response& response) const {
  const auto& each = classes_[c];
  const auto& s = *response.at_end[static_cast<std::size_t>(each.end)];
  const auto edges = source_edges(c, x);
  std::vector<double> v(each.t_s.size());
  for (std::size_t i = 0; i < v.size(); ++i)
    v[i] = x[i_low] + (x[i_high] - x[i_low]) * superpose(edges, s.rising, s.falling, each.t_s[i]);
  return v;
}

// What the clamps add, one class after the other.
Vector LineProblem::clamp_volts(const Vector& x, const Response& response) const {
  Vector v(static_cast<Eigen::Index>(data_rows()));
  Eigen::Index row = 0;
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    const auto& clamped = response.corrections[c];
    const double moved_s = x[static_cast<Eigen::Index>(shift_index(c))] - clamped.shift_s;
    for (const double t : classes_[c].t_s) v[row++] = clamped.at(t - moved_s);
  }
  return v;
}

Vector LineProblem::volts(const Vector& x, const Response& response) const {
  Vector v(static_cast<Eigen::Index>(data_rows()));
  Eigen::Index row = 0;
  for (std::size_t c = 0; c < classes_.size(); ++c)
    for (const double each : model(c, x, response)) v[row++] = each;
  if (!response.corrections.empty()) v += clamp_volts(x, response);
  return v;
}

Vector LineProblem::volts_of_near_capacitance(const Vector& x, const Response& response) const {
  LineProblem loaded = *this;
  loaded.near_f_ = near_end_f;
  return loaded.volts(x, loaded.response_at(x)) - volts(x, response);
}

void LineProblem::start_shifts(Vector& x, const Response& response) const {
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    const auto& s = *response.at_end[static_cast<std::size_t>(classes_[c].end)];
    const double crossing = (classes_[c].rising ? s.rising : s.falling).first_crossing_s(classes_[c].alignment_ratio);
    x[static_cast<Eigen::Index>(shift_index(c))] = std::isfinite(crossing) ? -crossing : -std::exp(x[i_delay]);
  }
}

Vector LineProblem::residuals(const Vector& x, const Response& response, const Vector& volts, const Vector& weights) const {
  Vector r(static_cast<Eigen::Index>(rows()));
  Eigen::Index row = 0;
  for (const auto& each : classes_)
    for (std::size_t i = 0; i < each.v.size(); ++i, ++row) r[row] = each.hides(i, volts[row]) ? 0 : (volts[row] - each.v[i]) * weights[row];
  fill_beliefs(x, response, r);
  return r;
}

void LineProblem::fill_beliefs(const Vector& x, const Response& response, Vector& r) const {
  auto row = static_cast<Eigen::Index>(data_rows());
  for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k, ++row) r[row] = (x[k] - prior_mean_[k]) / prior_sd_[k];
  r[row++] = driver_residual(x);
  for (const auto& seen : delays_) r[row++] = (delay_between(seen.rising, response) - seen.value_s) / seen.u_s;
}

Vector LineProblem::weights(const Vector& volts) const {
  Vector w(static_cast<Eigen::Index>(data_rows()));
  Eigen::Index row = 0;
  for (const auto& each : classes_) {
    for (std::size_t i = 0; i < each.v.size(); ++i, ++row) {
      const double u = each.u_v[i], v = volts[row];
      const double beyond = std::max({0.0, v - priors_.supply_v - clamp_knee_v, -clamp_knee_v - v});
      const double missed = clamps_ ? std::min(beyond, clamp_error_v) : beyond;
      const double sd = std::sqrt(u * u + std::pow(model_error_ratio * swing_v_, 2) + missed * missed);
      const double ratio = std::abs(v - each.v[i]) / sd;
      w[row] = (ratio > huber ? std::sqrt(huber / ratio) : 1) / sd;
    }
  }
  return w;
}

int LineProblem::offset_of(LineEnd end) const {
  if (classes_.front().end == end) return 0;
  for (std::size_t c = 0; c < classes_.size(); ++c)
    if (classes_[c].end == end) return static_cast<int>(c);
  return 0;
}

int LineProblem::like(LineEnd end, bool rising, std::size_t fallback) const {
  for (std::size_t c = 0; c < classes_.size(); ++c)
    if (classes_[c].end == end && classes_[c].rising == rising) return static_cast<int>(c);
  return static_cast<int>(fallback);
}

double LineProblem::driver_residual(const Vector& x) const {
  if (priors_.series_ohm < 0) return 0;
  const double source_ohm = std::exp(x[i_ratio] + x[i_z0]);
  return (source_ohm - priors_.series_ohm - priors_.driver_ohm.mean) / driver_u_ohm();
}

double LineProblem::driver_u_ohm() const { return std::hypot(priors_.driver_ohm.sd, 0.03 * priors_.series_ohm); }

double LineProblem::delay_between(bool rising, const Response& response) const {
  const auto& [near, far] = response.at_end;
  if (!near || !far) return 0;
  const double a = (rising ? near->rising : near->falling).first_crossing_s(alignment_[0]);
  const double b = (rising ? far->rising : far->falling).first_crossing_s(alignment_[1]);
  return std::isfinite(a) && std::isfinite(b) ? b - a : 0;
}

}  // namespace pulsewright::analyzer
