#include "analyzer/line/fit_covariance.hpp"

#include <algorithm>

namespace pulsewright::analyzer {

namespace {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

constexpr Eigen::Index window_bins = 12;  // of some 140 in a class; 1 and 30 give the same within a tenth where nothing is amiss

// Sums of the gradient's terms over every stretch of `window_bins` neighbours, zeros beyond the ends.
Matrix window_sums(const Matrix& terms) {
  Matrix sums = Matrix::Zero(terms.rows() + window_bins - 1, terms.cols());
  for (Eigen::Index shift = 0; shift < window_bins; ++shift) sums.middleRows(shift, terms.rows()) += terms;
  return sums;
}

// Covariance of the data's part of the gradient.
Matrix gradient_covariance(const LineProblem& problem, const Solution& s) {
  const Eigen::Index unknowns = s.x.size(), bins = s.data_residuals.size();
  const Matrix terms = s.data_residuals.asDiagonal() * s.data_jacobian;
  Matrix seen = Matrix::Zero(unknowns, unknowns);
  Eigen::Index row = 0;
  for (const auto& each : problem.classes()) {
    const auto count = static_cast<Eigen::Index>(each.t_s.size());
    const Matrix sums = window_sums(terms.middleRows(row, count));
    seen.noalias() += sums.transpose() * sums / static_cast<double>(window_bins);
    row += count;
  }
  return seen * static_cast<double>(bins) / std::max(1.0, static_cast<double>(bins - unknowns));
}

}  // namespace

Matrix covariance_of(const LineProblem& problem, const Solution& s) {
  const Matrix believed = s.normal - s.data_jacobian.transpose() * s.data_jacobian;
  const auto response = problem.response_at(s.x);
  const Vector volts = problem.volts(s.x, response);
  const Vector near = s.data_jacobian.transpose() * problem.volts_of_near_capacitance(s.x, response).cwiseProduct(problem.weights(volts));
  const Matrix inverse = s.normal.ldlt().solve(Matrix::Identity(s.x.size(), s.x.size()));
  return inverse * (gradient_covariance(problem, s) + believed + near * near.transpose()) * inverse;
}

}  // namespace pulsewright::analyzer
