#include "analyzer/line/fit_solver.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace pulsewright::analyzer {

namespace {

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

constexpr std::size_t most_points = 4096, most_points_clamped = 2048;

class Solver {
 public:
  Solver(LineProblem& problem, const LinePriors& priors) : problem_(problem), priors_(priors), bounds_(problem.bounds()) {
    for (std::size_t c = 0; c < problem.classes().size(); ++c)
      if (problem.classes()[c].end == LineEnd::far) arriving_.insert(static_cast<Eigen::Index>(problem.shift_index(c)));
  }

  Solution run(Vector x, int iterations) {
    Solution best;
    double damping = 1e-2;
    Point here = on_new_grid(std::move(x));
    for (int iteration = 0; iteration < iterations; ++iteration) {
      if (iteration == 4) here = on_new_grid(here.x);
      const Vector w = problem_.weights(here.volts);
      const Vector r = problem_.residuals(here.x, here.response, here.volts, w);
      const Matrix j = problem_.jacobian(here.x, here.response, here.volts, w);
      Matrix normal = Matrix::Zero(j.cols(), j.cols());
      normal.selfadjointView<Eigen::Lower>().rankUpdate(j.transpose());
      normal.triangularView<Eigen::Upper>() = normal.transpose();
      const double cost = r.squaredNorm();
      const auto bins = static_cast<Eigen::Index>(problem_.data_rows());
      best = {here.x, cost, false, normal, r.head(bins), j.topRows(bins)};
      if (!improve(here, w, normal, j.transpose() * r, cost, damping, best.converged) || best.converged) break;
    }
    return best;
  }

 private:
  struct Point {
    Vector x;
    Response response;
    Vector volts;
  };

  Point at(Vector x) const {
    Point point{std::move(x), {}, {}};
    point.response = problem_.response_at(point.x);
    point.volts = problem_.volts(point.x, point.response);
    return point;
  }

  Point on_new_grid(Vector x) {
    problem_.use_grid(grid_for(x, priors_, problem_.clamps_modelled() ? most_points_clamped : most_points));
    return at(std::move(x));
  }

  // Steps are damped in coordinates in which a longer line sends its edges out earlier: what arrives stays where it is, and the echoes
  // alone tell the delay. On a line close to its match they are small, and no step along that valley would survive the damping.
  Matrix arrivals_held(const Vector& x) const {
    Matrix turn = Matrix::Identity(x.size(), x.size());
    for (const auto shift : arriving_) turn(shift, i_delay) = -std::exp(x[i_delay]);
    return turn;
  }

  Vector moved(const Vector& x, const Vector& down) const {
    Vector next = x - down;
    for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k)
      next[k] = std::clamp(next[k], bounds_[static_cast<std::size_t>(k)].low, bounds_[static_cast<std::size_t>(k)].high);
    for (const auto shift : arriving_) next[shift] -= std::exp(next[i_delay]) - std::exp(x[i_delay]);
    return next;
  }

  bool improve(Point& here, const Vector& w, const Matrix& normal, const Vector& gradient, double cost, double& damping,
               bool& converged) const {
    const Matrix turn = arrivals_held(here.x);
    const Matrix turned = turn.transpose() * normal * turn;
    const Vector turned_gradient = turn.transpose() * gradient;
    for (int attempt = 0; attempt < 8; ++attempt) {
      Matrix damped = turned;
      damped.diagonal() *= 1 + damping;
      auto there = at(moved(here.x, damped.ldlt().solve(turned_gradient)));
      const double next_cost = problem_.residuals(there.x, there.response, there.volts, w).squaredNorm();
      if (std::isfinite(next_cost) && next_cost < cost) {
        // A step cut short, by damping or on the way, says little about how much there is to gain.
        converged = attempt == 0 && damping < 1e-4 && cost - next_cost < 1e-4 * cost + 1e-2;
        here = std::move(there);
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
  std::set<Eigen::Index> arriving_;  // the unknowns that shift edges of the far end
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
