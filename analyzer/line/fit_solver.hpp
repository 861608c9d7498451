#pragma once
// Bounded Levenberg-Marquardt for the line problem.

#include <Eigen/Dense>
#include <limits>

#include "analyzer/line/line_problem.hpp"

namespace pulsewright::analyzer {

struct Solution {
  Eigen::VectorXd x;
  double cost = std::numeric_limits<double>::infinity();
  bool converged = false;
  Eigen::MatrixXd normal;  ///< J^T J at the solution
  Eigen::VectorXd data_residuals;
  Eigen::MatrixXd data_jacobian;  ///< of the data rows, a column an unknown
};

/// From `x`, at most so many iterations. Steps are clipped at the bounds; the weights of robust rows follow the iterations.
Solution solve(LineProblem& problem, const LinePriors& priors, Eigen::VectorXd x, int iterations);

/// Grid for the line at `x` with its probe.
LineGrid grid_for(const Eigen::VectorXd& x, const LinePriors& priors, std::size_t most_points);

}  // namespace pulsewright::analyzer
