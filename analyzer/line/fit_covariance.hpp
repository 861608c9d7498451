#pragma once
// What the fit's parameters may be off by, from what its residuals show.

#include <Eigen/Dense>

#include "analyzer/line/fit_solver.hpp"

namespace pulsewright::analyzer {

/// Covariance of all unknowns: the priors count as stated, the record as far as the residuals say, however large the noise model
/// was. Neighbouring bins of a class may be off alike (Newey and West, Econometrica 55 (1987) 703, weights after Bartlett). The
/// capacitance of the driver's end, which the fit leaves out, makes them off as well: what a typical one would do is counted.
Eigen::MatrixXd covariance_of(const LineProblem& problem, const Solution& solution);

}  // namespace pulsewright::analyzer
