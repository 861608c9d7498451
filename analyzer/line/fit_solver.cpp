#include "analyzer/line/fit_solver.hpp"

#include <algorithm>
#include <cmath>

namespace pulsewright::analyzer {

namespace {

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

constexpr std::size_t most_points = 4096, most_points_clamped = 2048;

class Solver {
 public:
  Solver(LineProblem& problem, const LinePriors& priors) : problem_(problem), priors_(priors), bounds_(problem.bounds()) {}

  Solution run(Vector x, int iterations) {
    Solution best;
    double damping = 1e-2;
    use_grid(x);
    for (int iteration = 0; iteration < iterations; ++iteration) {
      if (iteration == 4) use_grid(x);
      const auto response = problem_.response_at(x);
      const Vector w = problem_.weights(x, response);
      const Vector r = problem_.residuals(x, response, w);
      const Matrix j = problem_.jacobian(x, response, w, r);
      const Matrix normal = j.transpose() * j;
      const Vector gradient = j.transpose() * r;
      const double cost = r.squaredNorm();
      best = {x, cost, best.converged, normal, r.head(static_cast<Eigen::Index>(problem_.data_rows()))};
      if (!improve(x, w, normal, gradient, cost, damping, best.converged) || best.converged) break;
    }
    return best;
  }

 private:
  void use_grid(const Vector& x) { problem_.use_grid(grid_for(x, priors_, problem_.clamps_modelled() ? most_points_clamped : most_points)); }

  bool improve(Vector& x, const Vector& w, const Matrix& normal, const Vector& gradient, double cost, double& damping,
               bool& converged) const {
    for (int attempt = 0; attempt < 8; ++attempt) {
      Matrix damped = normal;
      damped.diagonal() *= 1 + damping;
      Vector next = x - damped.ldlt().solve(gradient);
      for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k)
        next[k] = std::clamp(next[k], bounds_[static_cast<std::size_t>(k)].low, bounds_[static_cast<std::size_t>(k)].high);
      const double next_cost = problem_.residuals(next, problem_.response_at(next), w).squaredNorm();
      if (std::isfinite(next_cost) && next_cost < cost) {
        // A step cut short says little about how much there is to gain.
        converged = attempt == 0 && cost - next_cost < 1e-4 * cost + 1e-2;
        x = next;
        damping = std::max(damping / 8, 1e-9);
        return true;
      }
      damping *= 6;
    }
    converged = true;  // no direction improves: the minimum within the arithmetic
    return false;
  }

  LineProblem& problem_;
  const LinePriors& priors_;
  std::array<Bound, fit_count> bounds_;
};

}  // namespace

Solution solve(LineProblem& problem, const LinePriors& priors, Eigen::VectorXd x, int iterations) {
  return Solver(problem, priors).run(std::move(x), iterations);
}

LineGrid grid_for(const Eigen::VectorXd& x, const LinePriors& priors, std::size_t most_points) {
  const auto p = point_at({x.data(), x.data() + fit_count}, priors);
  auto line = p.line;
  line.far_f += priors.probe_f;
  return LineGrid::fit_for(line, 1.3 * std::max(p.rising_ohm, p.falling_ohm), most_points);
}

}  // namespace pulsewright::analyzer
