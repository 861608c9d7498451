#include "analyzer/pulse/mode_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace pulsewright::analyzer {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int most_iterations = 40;
constexpr double least_singular = 1e-12;  // of the largest: working precision of the Jacobian

// Parameters in units of the record: angle and damping a sample. Two a mode: damping, angle (angle kept 0 for exponentials).
struct Problem {
  VectorXd y;
  std::vector<bool> oscillates;

  Index parameters() const { return 2 * static_cast<Index>(oscillates.size()); }

  MatrixXd basis(const VectorXd& p) const {
    Index columns = 1;
    for (const bool o : oscillates) columns += o ? 2 : 1;
    MatrixXd b(y.size(), columns);
    b.col(0).setOnes();
    Index c = 1;
    for (Index m = 0; m < static_cast<Index>(oscillates.size()); ++m) {
      const bool o = oscillates[static_cast<std::size_t>(m)];
      for (Index i = 0; i < y.size(); ++i) {
        const auto k = static_cast<double>(i);
        const double e = std::exp(-p[2 * m] * k);
        b(i, c) = o ? e * std::cos(p[2 * m + 1] * k) : e;
        if (o) b(i, c + 1) = e * std::sin(p[2 * m + 1] * k);
      }
      c += o ? 2 : 1;
    }
    return b;
  }

  // Linear coefficients and residual for given dampings and angles.
  VectorXd residual(const VectorXd& p, VectorXd* linear = nullptr) const {
    const MatrixXd b = basis(p);
    const VectorXd x = b.colPivHouseholderQr().solve(y);
    if (linear) *linear = x;
    return y - b * x;
  }

  // d(model)/d(damping, angle) at fixed linear coefficients.
  MatrixXd slopes(const VectorXd& p, const VectorXd& linear) const {
    MatrixXd j(y.size(), parameters());
    Index c = 1;
    for (Index m = 0; m < static_cast<Index>(oscillates.size()); ++m) {
      const bool o = oscillates[static_cast<std::size_t>(m)];
      const double a = linear[c], b = o ? linear[c + 1] : 0;
      for (Index i = 0; i < y.size(); ++i) {
        const auto k = static_cast<double>(i);
        const double e = std::exp(-p[2 * m] * k), co = std::cos(p[2 * m + 1] * k), si = std::sin(p[2 * m + 1] * k);
        j(i, 2 * m) = -k * e * (a * co + b * si);
        j(i, 2 * m + 1) = o ? k * e * (b * co - a * si) : 0;
      }
      c += o ? 2 : 1;
    }
    return j;
  }
};

// Gauss-Newton on the nonlinear parameters with Levenberg's damping; the linear part is projected out (Kaufman).
bool minimise(const Problem& problem, VectorXd& p) {
  double damping = 1e-3;
  VectorXd linear;
  VectorXd r = problem.residual(p, &linear);
  for (int iteration = 0; iteration < most_iterations; ++iteration) {
    const MatrixXd b = problem.basis(p);
    const MatrixXd full = problem.slopes(p, linear);
    const MatrixXd j = full - b * b.colPivHouseholderQr().solve(full);
    MatrixXd normal = j.transpose() * j;
    const VectorXd scale = normal.diagonal().cwiseMax(1e-300);
    bool better = false;
    for (int attempt = 0; attempt < 8 && !better; ++attempt, damping *= 8) {
      MatrixXd damped = normal;
      damped.diagonal() += damping * scale;
      const VectorXd step = damped.ldlt().solve(j.transpose() * r);
      if (!step.allFinite()) continue;
      const VectorXd next = p + step;
      VectorXd next_linear;
      const VectorXd next_r = problem.residual(next, &next_linear);
      if (!(next_r.squaredNorm() < r.squaredNorm())) continue;
      const double gain = 1 - next_r.squaredNorm() / r.squaredNorm();
      p = next, r = next_r, linear = next_linear, better = true;
      damping = std::max(damping / 64, 1e-12);
      if (gain < 1e-9) return true;
    }
    if (!better) return true;  // no step improves: at the minimum to working precision
  }
  return false;
}

// Correlated residuals do not average out: their power at the angle (radians a sample) that a parameter is read at, over that
// of white ones. First-order autoregressive spectrum; (1 + rho) / (1 - rho) at 0.
double widening(const VectorXd& r, double angle) {
  if (r.size() < 4 || r.squaredNorm() == 0) return 1;
  const double rho = std::clamp(r.head(r.size() - 1).dot(r.tail(r.size() - 1)) / r.squaredNorm(), 0.0, 0.95);
  return (1 - rho * rho) / (1 - 2 * rho * std::cos(angle) + rho * rho);
}

}  // namespace

ModeFit fit_modes(std::span<const double> y, double interval_s, std::vector<DampedMode> start, double least_noise) {
  ModeFit fit;
  Problem problem{.y = Eigen::Map<const VectorXd>(y.data(), static_cast<Index>(y.size())), .oscillates = {}};
  VectorXd p(2 * static_cast<Index>(start.size()));
  for (std::size_t m = 0; m < start.size(); ++m) {
    problem.oscillates.push_back(start[m].frequency_hz > 0);
    p[2 * static_cast<Index>(m)] = start[m].damping_per_s * interval_s;
    p[2 * static_cast<Index>(m) + 1] = 2 * std::numbers::pi * start[m].frequency_hz * interval_s;
  }
  const Index unknowns = problem.basis(p).cols() + problem.parameters();
  if (start.empty() || problem.y.size() <= unknowns + 2) return fit;
  fit.converged = minimise(problem, p);

  VectorXd linear;
  const VectorXd r = problem.residual(p, &linear);
  const double freedom = static_cast<double>(problem.y.size() - unknowns);
  fit.rms_residual = std::sqrt(r.squaredNorm() / freedom);
  const double main_angle = std::abs(p[1]);
  const double variance = std::max(r.squaredNorm() / freedom * std::max(1.0, widening(r, main_angle)), least_noise * least_noise);
  MatrixXd all(problem.y.size(), unknowns);
  all << problem.slopes(p, linear), problem.basis(p);
  // A combination of parameters that the data do not tell (singular value 0) has no finite uncertainty.
  const VectorXd norms = all.colwise().norm().transpose().cwiseMax(1e-300);
  for (Index c = 0; c < unknowns; ++c) all.col(c) /= norms[c];
  const Eigen::JacobiSVD<MatrixXd> svd(all, Eigen::ComputeThinV);
  const VectorXd inverse = svd.singularValues().cwiseMax(least_singular * svd.singularValues()[0]).cwiseInverse();
  const auto u = [&](Index c) { return std::sqrt(variance) * svd.matrixV().row(c).transpose().cwiseProduct(inverse).norm() / norms[c]; };

  const Index linear_at = problem.parameters();
  fit.level = linear[0];
  fit.level_u = u(linear_at);
  Index c = 1;
  for (Index m = 0; m < static_cast<Index>(start.size()); ++m) {
    const bool o = problem.oscillates[static_cast<std::size_t>(m)];
    const double a = linear[c], b = o ? linear[c + 1] : 0;
    fit.modes.push_back({.frequency_hz = std::abs(p[2 * m + 1]) / (2 * std::numbers::pi * interval_s), .damping_per_s = p[2 * m] / interval_s,
                         .amplitude = std::hypot(a, b), .phase_rad = std::atan2(-b, a)});
    fit.frequency_u_hz.push_back(o ? u(2 * m + 1) / (2 * std::numbers::pi * interval_s) : 0);
    fit.damping_u_per_s.push_back(u(2 * m) / interval_s);
    fit.amplitude_u.push_back(o ? std::max(u(linear_at + c), u(linear_at + c + 1)) : u(linear_at + c));
    c += o ? 2 : 1;
  }
  return fit;
}

}  // namespace pulsewright::analyzer
