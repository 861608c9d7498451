#include "analyzer/line/fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>
#include <random>

#include "analyzer/line/tables.hpp"

namespace pulsewright::analyzer {

namespace {

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

constexpr double model_error_ratio = 0.02;  // of the swing, for each bin: what the model leaves out, correlated between bins
constexpr double clamp_knee_v = 0.45;
constexpr double huber = 3;

struct Bound {
  double low, high;
};

std::array<Bound, fit_count> bounds_of(double swing_v, double low_v, double high_v) {
  const auto logs = [](double a, double b) { return Bound{std::log(a), std::log(b)}; };
  return {logs(20, 300),        logs(0.02, 20),      Bound{-0.7, 0.7},    logs(1e-9, 3e-6),
          logs(1e-12, 400e-12), logs(0.5e-9, 120e-9), logs(2e6, 2e9),     Bound{-2.5, 2.5},
          Bound{-2.5, 2.5},     Bound{low_v - 0.3 * swing_v, low_v + 0.3 * swing_v},
          Bound{high_v - 0.3 * swing_v, high_v + 0.3 * swing_v}};
}

struct Steps {
  StepResponseGrid rising, falling;
};

struct DelayObservation {
  bool rising;
  double value_s, u_s;
};

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

class Problem {
 public:
  Problem(std::vector<EdgeClass> classes, const LinePriors& priors, const FitInput& input)
      : classes_(std::move(classes)), priors_(priors) {
    const auto& levels = *input.node->levels;
    low_v_ = *levels.low_v, high_v_ = *levels.high_v, swing_v_ = high_v_ - low_v_;
    low_u_v_ = std::max(levels.low_v.u, 0.02 * swing_v_), high_u_v_ = std::max(levels.high_v.u, 0.02 * swing_v_);
    for (const auto& each : classes_) (each.end == LineEnd::far ? has_far_ : has_near_) = true;
    both_probes_at_once_ = has_far_ && has_near_ && input.same_record;
    set_priors();
    if (input.other_end == nullptr || !input.same_record) return;
    const bool node_is_near = input.node->at == ProbePosition::near;
    const auto& near = node_is_near ? *input.node : *input.other_end;
    const auto& far = node_is_near ? *input.other_end : *input.node;
    for (const bool rising : {true, false})
      if (const auto seen = observe_delay(near, far, rising)) delays_.push_back(*seen);
  }

  std::size_t parameters() const { return fit_count + classes_.size(); }
  const std::vector<EdgeClass>& classes() const { return classes_; }
  const std::vector<DelayObservation>& delays() const { return delays_; }
  const Vector& prior_mean() const { return prior_mean_; }
  const Vector& prior_sd() const { return prior_sd_; }
  double swing_v() const { return swing_v_; }
  std::array<Bound, fit_count> bounds() const { return bounds_of(swing_v_, low_v_, high_v_); }
  void use_grid(const LineGrid& grid) { grid_ = grid; }

  // As captured at `end`: with the probe there, and with the one at the other end where both were on the line at once.
  LineParameters probed(const LinePoint& p, LineEnd end) const {
    auto line = p.line;
    line.bandwidth_hz = p.bandwidth_hz;
    if (end == LineEnd::far || both_probes_at_once_) line.far_f += priors_.probe_f;
    if (end == LineEnd::near || both_probes_at_once_) line.near_f += priors_.probe_f;
    return line;
  }

  std::array<std::optional<Steps>, 2> steps_at(const Vector& x) const {
    const auto p = point_at({x.data(), x.data() + fit_count}, priors_);
    std::array<std::optional<Steps>, 2> steps;
    for (const auto end : {LineEnd::near, LineEnd::far}) {
      if (end == LineEnd::far ? !has_far_ : !has_near_) continue;
      const LineSpectrum spectrum(probed(p, end), end, grid_);
      steps[static_cast<std::size_t>(end)] = Steps{spectrum.step_response(p.rising_ohm), spectrum.step_response(p.falling_ohm)};
    }
    return steps;
  }

  // Source edges of a class on its own time axis.
  std::vector<SourceEdge> source_edges(std::size_t c, const Vector& x) const {
    const auto& each = classes_[c];
    auto edges = each.edges;
    for (std::size_t e = 0; e < edges.size(); ++e) {
      const int owner = each.class_of[e] >= 0 ? each.class_of[e] + offset_of(each.end) : like(each.end, edges[e].rising, c);
      edges[e].time_s += x[static_cast<Eigen::Index>(fit_count + static_cast<std::size_t>(owner))];
    }
    return edges;
  }

  std::vector<double> model(std::size_t c, const Vector& x, const std::array<std::optional<Steps>, 2>& steps) const {
    const auto& each = classes_[c];
    const auto& s = *steps[static_cast<std::size_t>(each.end)];
    const auto edges = source_edges(c, x);
    std::vector<double> v(each.t_s.size());
    for (std::size_t i = 0; i < v.size(); ++i)
      v[i] = x[i_low] + (x[i_high] - x[i_low]) * superpose(edges, s.rising, s.falling, each.t_s[i]);
    return v;
  }

  // Shifts that put the model's 50 % instant at 0, ignoring earlier bits.
  void start_shifts(Vector& x, const std::array<std::optional<Steps>, 2>& steps) const {
    for (std::size_t c = 0; c < classes_.size(); ++c) {
      const auto& s = *steps[static_cast<std::size_t>(classes_[c].end)];
      const double crossing = (classes_[c].rising ? s.rising : s.falling).first_crossing_s(0.5);
      x[static_cast<Eigen::Index>(fit_count + c)] = std::isfinite(crossing) ? -crossing : -std::exp(x[i_delay]);
    }
  }

  std::size_t rows() const {
    std::size_t count = fit_count + 1 + delays_.size();
    for (const auto& each : classes_) count += each.t_s.size();
    return count;
  }
  std::size_t data_rows() const { return rows() - fit_count - 1 - delays_.size(); }

  // Residuals over standard uncertainty; `weights` (of the data rows) are frozen during one iteration.
  Vector residuals(const Vector& x, const std::array<std::optional<Steps>, 2>& steps, const Vector& weights) const {
    Vector r(static_cast<Eigen::Index>(rows()));
    Eigen::Index row = 0;
    for (std::size_t c = 0; c < classes_.size(); ++c) {
      const auto v = model(c, x, steps);
      for (std::size_t i = 0; i < v.size(); ++i, ++row) r[row] = (v[i] - classes_[c].v[i]) * weights[row];
    }
    for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k, ++row) r[row] = (x[k] - prior_mean_[k]) / prior_sd_[k];
    r[row++] = driver_residual(x);
    for (const auto& seen : delays_) r[row++] = (delay_between(seen.rising, steps) - seen.value_s) / seen.u_s;
    return r;
  }

  Vector weights(const Vector& x, const std::array<std::optional<Steps>, 2>& steps) const {
    Vector w(static_cast<Eigen::Index>(data_rows()));
    Eigen::Index row = 0;
    for (std::size_t c = 0; c < classes_.size(); ++c) {
      const auto v = model(c, x, steps);
      for (std::size_t i = 0; i < v.size(); ++i, ++row) {
        const double u = classes_[c].u_v[i];
        const double beyond = std::max({0.0, v[i] - priors_.supply_v - clamp_knee_v, -clamp_knee_v - v[i]});
        const double sd = std::sqrt(u * u + std::pow(model_error_ratio * swing_v_, 2) + beyond * beyond);
        const double ratio = std::abs(v[i] - classes_[c].v[i]) / sd;
        w[row] = (ratio > huber ? std::sqrt(huber / ratio) : 1) / sd;
      }
    }
    return w;
  }

  bool shift_only(std::size_t parameter) const { return parameter == i_low || parameter == i_high || parameter >= fit_count; }

 private:
  int offset_of(LineEnd end) const {
    if (classes_.front().end == end) return 0;
    for (std::size_t c = 0; c < classes_.size(); ++c)
      if (classes_[c].end == end) return static_cast<int>(c);
    return 0;
  }

  int like(LineEnd end, bool rising, std::size_t fallback) const {
    for (std::size_t c = 0; c < classes_.size(); ++c)
      if (classes_[c].end == end && classes_[c].rising == rising) return static_cast<int>(c);
    return static_cast<int>(fallback);
  }

  double driver_residual(const Vector& x) const {
    if (priors_.series_ohm < 0) return 0;
    const double source_ohm = std::exp(x[i_ratio] + x[i_z0]);
    return (source_ohm - priors_.series_ohm - priors_.driver_ohm.mean) / std::hypot(priors_.driver_ohm.sd, 0.03 * priors_.series_ohm);
  }

  static double delay_between(bool rising, const std::array<std::optional<Steps>, 2>& steps) {
    if (!steps[0] || !steps[1]) return 0;
    const auto& near = rising ? steps[0]->rising : steps[0]->falling;
    const auto& far = rising ? steps[1]->rising : steps[1]->falling;
    const double a = near.first_crossing_s(0.5), b = far.first_crossing_s(0.5);
    return std::isfinite(a) && std::isfinite(b) ? b - a : 0;
  }

  void set_priors() {
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
  }

  std::vector<EdgeClass> classes_;
  LinePriors priors_;
  LineGrid grid_;
  std::vector<DelayObservation> delays_;
  Vector prior_mean_, prior_sd_;
  double low_v_ = 0, high_v_ = 5, swing_v_ = 5, low_u_v_ = 0, high_u_v_ = 0;
  bool has_far_ = false, has_near_ = false, both_probes_at_once_ = false;
};

struct Start {
  Vector x;
  double cost;
};

LineGrid grid_for(const Vector& x, const LinePriors& priors, std::size_t most_points) {
  const auto p = point_at({x.data(), x.data() + fit_count}, priors);
  auto line = p.line;
  line.far_f += priors.probe_f;
  return LineGrid::fit_for(line, 1.3 * std::max(p.rising_ohm, p.falling_ohm), most_points);
}

// Cost of a coarse grid of R/Z0 and delay, everything else as believed before.
std::vector<Start> coarse_search(Problem& problem, const LinePriors& priors) {
  Vector x = Vector::Zero(static_cast<Eigen::Index>(problem.parameters()));
  x.head(fit_count) = problem.prior_mean();
  std::vector<double> delays_s, ratios{0.08, 0.15, 0.25, 0.4, 0.6, 0.85, 1.2, 1.8, 2.7, 4.5, 8};
  if (priors.length_m > 0) {
    for (const double z : {-1.5, 0.0, 1.5}) delays_s.push_back(std::exp(problem.prior_mean()[i_delay] + z * problem.prior_sd()[i_delay]));
  } else {
    for (double d = 5e-9; d < 400e-9; d *= 1.28) delays_s.push_back(d);
  }
  std::vector<Start> starts;
  for (const double ratio : ratios) {
    for (const double delay : delays_s) {
      x[i_ratio] = std::log(ratio), x[i_delay] = std::log(delay);
      problem.use_grid(grid_for(x, priors, 1024));
      const auto steps = problem.steps_at(x);
      problem.start_shifts(x, steps);
      const double cost = problem.residuals(x, steps, problem.weights(x, steps)).squaredNorm();
      if (std::isfinite(cost)) starts.push_back({x, cost});
    }
  }
  std::sort(starts.begin(), starts.end(), [](const Start& a, const Start& b) { return a.cost < b.cost; });
  return starts;
}

// Starts that differ by more than a grid step from the better ones.
std::vector<Start> distinct(const std::vector<Start>& starts, std::size_t most) {
  std::vector<Start> chosen;
  for (const auto& start : starts) {
    const bool near_one = std::any_of(chosen.begin(), chosen.end(), [&](const Start& c) {
      return std::abs(c.x[i_ratio] - start.x[i_ratio]) < 0.75 && std::abs(c.x[i_delay] - start.x[i_delay]) < 0.6;
    });
    if (!near_one) chosen.push_back(start);
    if (chosen.size() == most) break;
  }
  return chosen;
}

struct Solution {
  Vector x;
  double cost = std::numeric_limits<double>::infinity();
  bool converged = false;
  Matrix normal;  // J^T J at the solution
  Vector data_residuals;
};

class Solver {
 public:
  Solver(Problem& problem, const LinePriors& priors) : problem_(problem), priors_(priors), bounds_(problem.bounds()) {}

  Solution solve(Vector x, int iterations) {
    Solution best;
    double damping = 1e-2;
    problem_.use_grid(grid_for(x, priors_, 4096));
    for (int iteration = 0; iteration < iterations; ++iteration) {
      if (iteration == 4) problem_.use_grid(grid_for(x, priors_, 4096));
      const auto steps = problem_.steps_at(x);
      const Vector w = problem_.weights(x, steps);
      const Vector r = problem_.residuals(x, steps, w);
      const Matrix j = jacobian(x, steps, w, r);
      const Matrix normal = j.transpose() * j;
      const Vector gradient = j.transpose() * r;
      const double cost = r.squaredNorm();
      best = {x, cost, best.converged, normal, r.head(static_cast<Eigen::Index>(problem_.data_rows()))};
      if (!improve(x, w, normal, gradient, cost, damping, best.converged) || best.converged) break;
    }
    return best;
  }

 private:
  Matrix jacobian(const Vector& x, const std::array<std::optional<Steps>, 2>& steps, const Vector& w, const Vector& r) const {
    Matrix j(r.size(), x.size());
    for (Eigen::Index k = 0; k < x.size(); ++k) {
      const auto parameter = static_cast<std::size_t>(k);
      Vector moved = x;
      const double step = parameter >= fit_count ? 0.05e-9 : 1e-3;
      moved[k] += step;
      if (problem_.shift_only(parameter)) {
        j.col(k) = (problem_.residuals(moved, steps, w) - r) / step;
      } else {
        j.col(k) = (problem_.residuals(moved, problem_.steps_at(moved), w) - r) / step;
      }
    }
    return j;
  }

  bool improve(Vector& x, const Vector& w, const Matrix& normal, const Vector& gradient, double cost, double& damping,
               bool& converged) const {
    for (int attempt = 0; attempt < 8; ++attempt) {
      Matrix damped = normal;
      damped.diagonal() *= 1 + damping;
      Vector next = x - damped.ldlt().solve(gradient);
      for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k)
        next[k] = std::clamp(next[k], bounds_[static_cast<std::size_t>(k)].low, bounds_[static_cast<std::size_t>(k)].high);
      const double next_cost = problem_.residuals(next, problem_.steps_at(next), w).squaredNorm();
      if (std::isfinite(next_cost) && next_cost < cost) {
        converged = cost - next_cost < 1e-4 * cost + 1e-3;
        x = next;
        damping = std::max(damping / 8, 1e-9);
        return true;
      }
      damping *= 6;
    }
    converged = true;  // no direction improves: the minimum within the arithmetic
    return false;
  }

  Problem& problem_;
  const LinePriors& priors_;
  std::array<Bound, fit_count> bounds_;
};

void fill(FitResult& result, const Problem& problem, const LinePriors& priors, const Solution& s) {
  result.coordinates.assign(s.x.data(), s.x.data() + fit_count);
  result.best = point_at(result.coordinates, priors);
  result.shift_s.assign(s.x.data() + fit_count, s.x.data() + s.x.size());
  result.converged = s.converged;
  const auto data = static_cast<double>(s.data_residuals.size());
  const double reduced = s.data_residuals.squaredNorm() / std::max(1.0, data - static_cast<double>(problem.parameters()));
  result.scale = std::max(1.0, reduced);
  const auto bounds = problem.bounds();
  for (std::size_t k = 0; k < fit_count; ++k) {
    const double room = 1e-6 * (bounds[k].high - bounds[k].low);
    if (result.coordinates[k] < bounds[k].low + room || result.coordinates[k] > bounds[k].high - room) result.at_bound.push_back(k);
  }
  const auto steps = problem.steps_at(s.x);
  double squares = 0, expected = 0, count = 0;
  for (std::size_t c = 0; c < problem.classes().size(); ++c) {
    result.model_v.push_back(problem.model(c, s.x, steps));
    const auto& each = problem.classes()[c];
    for (std::size_t i = 0; i < each.v.size(); ++i, ++count) {
      squares += std::pow(result.model_v.back()[i] - each.v[i], 2);
      expected += each.u_v[i] * each.u_v[i];
    }
  }
  result.rms_residual_v = std::sqrt(squares / count);
  result.rms_expected_v = std::sqrt(expected / count);
  // A misfit of 1 % of the swing already says that the model leaves something out.
  result.scale *= 1 + std::pow(result.rms_residual_v / (0.01 * problem.swing_v()), 2);
  const Matrix covariance = s.normal.ldlt().solve(Matrix::Identity(s.x.size(), s.x.size()));
  result.covariance.assign(fit_count, std::vector<double>(fit_count));
  for (std::size_t a = 0; a < fit_count; ++a) {
    for (std::size_t b = 0; b < fit_count; ++b)
      result.covariance[a][b] = covariance(static_cast<Eigen::Index>(a), static_cast<Eigen::Index>(b)) * result.scale;
    result.prior_sd.push_back(problem.prior_sd()[static_cast<Eigen::Index>(a)]);
  }
  result.classes = problem.classes();
  if (!problem.delays().empty()) result.delay_between_ends_s = problem.delays().front().value_s;
}

}  // namespace

LinePoint point_at(const std::vector<double>& x, const LinePriors& priors) {
  LinePoint p;
  p.line.z0_ohm = std::exp(x[i_z0]);
  p.line.delay_s = std::exp(x[i_delay]);
  p.line.far_f = std::exp(x[i_pixel]);
  p.line.edge_s = std::exp(x[i_edge]);
  const double length_m = p.line.delay_s / priors.delay_s_per_m;
  p.line.loop_ohm = priors.loop_ohm_per_m * length_m * std::exp(x[i_loop]);
  p.line.skin_ohm = skin_ohm_per_m_at_1mhz(priors.loop_ohm_per_m) * length_m * std::exp(x[i_skin]);
  const double source_ohm = std::exp(x[i_ratio] + x[i_z0]);
  p.rising_ohm = source_ohm * std::exp(-x[i_sides] / 2);
  p.falling_ohm = source_ohm * std::exp(x[i_sides] / 2);
  p.low_v = x[i_low], p.high_v = x[i_high];
  p.bandwidth_hz = std::exp(x[i_bandwidth]);
  return p;
}

FitResult fit_line(const FitInput& input) {
  FitResult result;
  auto classes = fold_edges(*input.node);
  if (input.other_end != nullptr) {
    auto more = fold_edges(*input.other_end);
    classes.insert(classes.end(), more.begin(), more.end());
  }
  if (classes.empty()) {
    result.why_not = "too few edges in the record to fit a line";
    return result;
  }
  Problem problem(std::move(classes), input.priors, input);
  const auto starts = distinct(coarse_search(problem, input.priors), 3);
  Solver solver(problem, input.priors);
  std::vector<Solution> tried;
  for (const auto& start : starts) tried.push_back(solver.solve(start.x, 5));
  std::sort(tried.begin(), tried.end(), [](const Solution& a, const Solution& b) { return a.cost < b.cost; });
  if (tried.empty() || !std::isfinite(tried.front().cost)) {
    result.why_not = "no line of any length explains these edges";
    return result;
  }
  const auto best = solver.solve(tried.front().x, 25);
  fill(result, problem, input.priors, best);
  result.usable = true;
  return result;
}

std::vector<LinePoint> posterior_points(const FitResult& fit, const LinePriors& priors, std::size_t count) {
  Matrix covariance(fit_count, fit_count);
  for (Eigen::Index a = 0; a < covariance.rows(); ++a)
    for (Eigen::Index b = 0; b < covariance.cols(); ++b)
      covariance(a, b) = fit.covariance[static_cast<std::size_t>(a)][static_cast<std::size_t>(b)];
  Eigen::SelfAdjointEigenSolver<Matrix> eigen(covariance);
  const Vector spread = eigen.eigenvalues().cwiseMax(0).cwiseSqrt();
  std::mt19937 generator(20263);
  std::normal_distribution<double> normal(0, 1);
  std::vector<LinePoint> points;
  while (points.size() < count) {
    Vector z(fit_count);
    for (auto& each : z) each = std::clamp(normal(generator), -2.5, 2.5);
    const Vector shift = eigen.eigenvectors() * spread.cwiseProduct(z);
    for (const double sign : {1.0, -1.0}) {
      auto x = fit.coordinates;
      for (std::size_t k = 0; k < fit_count; ++k) x[k] += sign * shift[static_cast<Eigen::Index>(k)];
      points.push_back(point_at(x, priors));
    }
  }
  return points;
}

}  // namespace pulsewright::analyzer
