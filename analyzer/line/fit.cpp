#include "analyzer/line/fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <random>

#include "analyzer/line/fit_covariance.hpp"
#include "analyzer/line/fit_solver.hpp"
#include "analyzer/line/line_problem.hpp"
#include "analyzer/line/tables.hpp"
#include "importers/parallel.hpp"

namespace pulsewright::analyzer {

namespace {

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

constexpr std::size_t coarse_points = 1024, coarse_classes = 2;  // of the grid; a direction
constexpr int most_iterations = 100;   // of the last fit from the best start; nine in ten need less than 25
constexpr double no_clamp_ohm = 1500;  // then the peaks go on freely
constexpr double clamps_cost = 9;       // what three more unknowns must gain: a ring alone fits clamps that do not conduct, and is misread
constexpr double clamp_ratio_u = 0.025;  // R/Z0, standard: a hundred lines with ngspice's diodes were off by 0.022 rms, alike from 0.15 to 0.5

struct Start {
  Vector x;
  double cost = 0;
};

double cost_of(const LineProblem& problem, const Vector& x, const Response& response) {
  const Vector volts = problem.volts(x, response);
  return problem.residuals(x, response, volts, problem.weights(volts)).squaredNorm();
}

void keep_finite(std::vector<Start>& starts, const Vector& x, double cost) {
  if (std::isfinite(cost)) starts.push_back({x.head(fit_count), cost});
}

void sort_by_cost(std::vector<Start>& starts) {
  std::sort(starts.begin(), starts.end(), [](const Start& a, const Start& b) { return a.cost < b.cost; });
}

std::vector<double> delays_to_try(const LineProblem& problem, const LinePriors& priors) {
  std::vector<double> delays_s;
  if (priors.length_m > 0) {
    for (const double z : {-1.5, 0.0, 1.5}) delays_s.push_back(std::exp(problem.prior_mean()[i_delay] + z * problem.prior_sd()[i_delay]));
  } else {
    for (double d = 5e-9; d < 400e-9; d *= 1.28) delays_s.push_back(d);
  }
  return delays_s;
}

// A grid on which the line at `x` settles behind either ratio.
LineGrid grid_for_both(Vector x, double low_ratio, double high_ratio, const LinePriors& priors) {
  x[i_ratio] = std::log(low_ratio);
  const auto low = grid_for(x, priors, coarse_points);
  x[i_ratio] = std::log(high_ratio);
  const auto high = grid_for(x, priors, coarse_points);
  return low.span_s > high.span_s ? low : high;
}

// Cost of the lines of one delay behind a coarse row of R/Z0, everything else as believed before.
std::vector<Start> starts_at_delay(LineProblem problem, const LinePriors& priors, double delay_s) {
  constexpr std::array ratios{0.08, 0.15, 0.25, 0.4, 0.6, 0.8, 0.9, 0.96, 1.04, 1.12, 1.3, 1.8, 2.7, 4.5, 8.0};  // an echo is (R - Z0) / (R + Z0)
  Vector x = Vector::Zero(static_cast<Eigen::Index>(problem.parameters()));
  x.head(fit_count) = problem.prior_mean();
  x[i_delay] = std::log(delay_s);
  problem.use_grid(grid_for_both(x, ratios.front(), ratios.back(), priors));
  const auto line = problem.response_at(x);
  std::vector<Start> starts;
  for (const double ratio : ratios) {
    x[i_ratio] = std::log(ratio);
    const auto response = problem.response_behind(x, line);
    problem.start_shifts(x, response);
    keep_finite(starts, x, cost_of(problem, x, response));
  }
  return starts;
}

// The same at each delay, the best first.
std::vector<Start> coarse_search(const LineProblem& problem, const LinePriors& priors) {
  const auto delays_s = delays_to_try(problem, priors);
  std::vector<std::vector<Start>> of_delay(delays_s.size());
  importers::for_each_index(delays_s.size(), 2, [&](std::size_t k) { of_delay[k] = starts_at_delay(problem, priors, delays_s[k]); });
  std::vector<Start> starts;
  for (const auto& some : of_delay) starts.insert(starts.end(), some.begin(), some.end());
  sort_by_cost(starts);
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

// A start with the shifts that suit it.
Vector with_shifts(LineProblem& problem, const LinePriors& priors, const Vector& coordinates) {
  Vector x = Vector::Zero(static_cast<Eigen::Index>(problem.parameters()));
  x.head(fit_count) = coordinates;
  const bool clamps = problem.clamps_modelled();
  problem.model_clamps(false);
  problem.use_grid(grid_for(x, priors, coarse_points));
  problem.start_shifts(x, problem.response_at(x));
  problem.model_clamps(clamps);
  return x;
}

// The best of some starts after a few iterations.
std::optional<Solution> best_of(const LineProblem& problem, const LinePriors& priors, const std::vector<Start>& starts) {
  std::vector<Solution> solutions(starts.size());
  importers::for_each_index(starts.size(), 2, [&](std::size_t k) {
    LineProblem own = problem;
    solutions[k] = solve(own, priors, with_shifts(own, priors, starts[k].x), 5);
  });
  std::optional<Solution> best;
  for (auto& solution : solutions)
    if (std::isfinite(solution.cost) && (!best || solution.cost < best->cost)) best = std::move(solution);
  return best;
}

// The delay and ratio found, everything else as believed before: a fit that took load and edge for each other starts anew.
Start start_anew(const LineProblem& problem, const Vector& found) {
  Vector x = problem.prior_mean();
  x[i_ratio] = found[i_ratio], x[i_delay] = found[i_delay];
  return {x, 0};
}

// A clamp close to the terminal all but shorts the far end while it conducts, so that neither the source resistance nor the
// delay of the fit without clamps need be near the truth: a coarse grid again.
std::vector<Start> clamped_starts(LineProblem& problem, const LinePriors& priors, const Vector& unclamped) {
  std::vector<Start> starts;
  std::vector<double> delays{unclamped[i_delay]};
  if (priors.length_m > 0) {
    delays.push_back(problem.prior_mean()[i_delay]);
  } else {
    for (double d = 15e-9; d < 250e-9; d *= 1.3) delays.push_back(std::log(d));
  }
  for (const double delay : delays) {
    for (const double ratio : {0.15, 0.3, 0.6}) {
      for (const double ohm : {10.0, 120.0}) {
        Vector x = unclamped;
        x[i_ratio] = std::log(ratio), x[i_delay] = delay, x[i_clamp_ohm] = std::log(ohm);
        x[i_pixel] = problem.prior_mean()[i_pixel], x[i_edge] = problem.prior_mean()[i_edge];
        x[i_loop] = x[i_skin] = 0;
        x = with_shifts(problem, priors, x.head(fit_count));
        keep_finite(starts, x, cost_of(problem, x, problem.response_at(x)));
      }
    }
  }
  sort_by_cost(starts);
  if (starts.size() > 3) starts.resize(3);
  return starts;
}

// A part of the classes and of their bins: enough to tell good starts from bad ones.
std::vector<EdgeClass> thinned(const std::vector<EdgeClass>& classes) {
  constexpr std::size_t each_bin = 3;
  std::vector<int> place(classes.size(), -1);
  std::vector<EdgeClass> kept;
  for (const bool rising : {true, false}) {
    std::vector<std::size_t> order;
    for (std::size_t c = 0; c < classes.size(); ++c)
      if (classes[c].rising == rising) order.push_back(c);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return classes[a].members > classes[b].members; });
    for (std::size_t k = 0; k < std::min(order.size(), coarse_classes); ++k) place[order[k]] = static_cast<int>(kept.size()), kept.push_back(classes[order[k]]);
  }
  for (auto& each : kept) {
    for (auto& owner : each.class_of) owner = owner < 0 ? -1 : place[static_cast<std::size_t>(owner)];
    const auto thin = [](auto& bins) {
      std::size_t count = 0;
      for (std::size_t i = 0; i < bins.size(); i += each_bin, ++count) bins[count] = bins[i];
      bins.resize(count);
    };
    thin(each.t_s), thin(each.v), thin(each.u_v), thin(each.cut_off);
  }
  return kept;
}

// How far log(R/Z0) may be off because the answer that was not chosen holds: root mean square about the chosen one. Most inputs
// have clamps, so that neither answer is favoured; a worse fit with clamps than without is one that stopped early.
double undecided_u(const Solution& without, const Solution& with, bool with_chosen) {
  const double share_with = 1 / (1 + std::exp(-std::max(without.cost - with.cost, 0.0) / 2));
  return std::sqrt(with_chosen ? 1 - share_with : share_with) * std::abs(with.x[i_ratio] - without.x[i_ratio]);
}

void fill(FitResult& result, const LineProblem& problem, const LinePriors& priors, const Solution& s) {
  result.coordinates.assign(s.x.data(), s.x.data() + fit_count);
  result.best = point_at(result.coordinates, priors);
  for (std::size_t c = 0; c < problem.classes().size(); ++c) result.shift_s.push_back(s.x[static_cast<Eigen::Index>(problem.shift_index(c))]);
  result.converged = s.converged;
  const auto bounds = problem.bounds();
  for (std::size_t k = 0; k < fit_count; ++k) {
    const double room = 1e-6 * (bounds[k].high - bounds[k].low);
    if (result.coordinates[k] < bounds[k].low + room || result.coordinates[k] > bounds[k].high - room) result.at_bound.push_back(k);
  }
  const auto steps = problem.response_at(s.x);
  double squares = 0, expected = 0, count = 0;
  const Vector volts = problem.volts(s.x, steps);
  auto at = volts.begin();
  for (const auto& each : problem.classes()) {
    result.model_v.emplace_back(at, at + static_cast<std::ptrdiff_t>(each.v.size()));
    at += static_cast<std::ptrdiff_t>(each.v.size());
    for (std::size_t i = 0; i < each.v.size(); ++i) {
      if (each.hides(i, result.model_v.back()[i])) continue;
      ++count;
      squares += std::pow(result.model_v.back()[i] - each.v[i], 2);
      expected += each.u_v[i] * each.u_v[i];
    }
  }
  result.rms_residual_v = std::sqrt(squares / count);
  result.rms_expected_v = std::sqrt(expected / count);
  // A misfit of 1 % of the swing already says that the model leaves something out.
  result.scale = 1 + std::pow(result.rms_residual_v / (0.01 * problem.swing_v()), 2);
  const Matrix covariance = covariance_of(problem, s);
  result.covariance.assign(fit_count, std::vector<double>(fit_count));
  for (std::size_t a = 0; a < fit_count; ++a) {
    for (std::size_t b = 0; b < fit_count; ++b)
      result.covariance[a][b] = covariance(static_cast<Eigen::Index>(a), static_cast<Eigen::Index>(b)) * result.scale;
    result.prior_sd.push_back(problem.prior_sd()[static_cast<Eigen::Index>(a)]);
  }
  result.clamped = problem.clamps_modelled();
  // A diode bends where the model has a corner, and sits behind a resistor of its own: measured on simulated diodes.
  if (result.clamped) result.covariance[i_ratio][i_ratio] += std::exp(-2 * s.x[i_ratio]) * clamp_ratio_u * clamp_ratio_u;
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
  p.clamp = {.high_v = priors.supply_v + x[i_clamp_high], .low_v = -x[i_clamp_low], .ohm = std::exp(x[i_clamp_ohm])};
  return p;
}

FitResult fit_line(const FitInput& input) {
  FitResult result;
  auto classes = fold_edges(*input.node);
  auto few = thinned(classes);
  if (input.other_end != nullptr) {
    const auto more = fold_edges(*input.other_end), few_more = thinned(more);
    classes.insert(classes.end(), more.begin(), more.end());
    few.insert(few.end(), few_more.begin(), few_more.end());
  }
  if (classes.empty()) {
    result.why_not = "too few edges in the record to fit a line";
    return result;
  }
  LineProblem problem(std::move(classes), input), coarse(std::move(few), input);
  double undecided_ratio_u = 0;
  auto best = best_of(coarse, input.priors, distinct(coarse_search(coarse, input.priors), 3));
  if (!best) {
    result.why_not = "no line of any length explains these edges";
    return result;
  }
  if (const auto anew = best_of(coarse, input.priors, {start_anew(coarse, best->x)}); anew && anew->cost < best->cost) best = anew;
  best = solve(problem, input.priors, with_shifts(problem, input.priors, best->x.head(fit_count)), most_iterations);
  if (problem.clamps_may_conduct(point_at({best->x.data(), best->x.data() + fit_count}, input.priors))) {
    problem.model_clamps(true), coarse.model_clamps(true);
    auto clamped = best_of(coarse, input.priors, clamped_starts(coarse, input.priors, best->x.head(fit_count)));
    if (clamped) clamped = solve(problem, input.priors, with_shifts(problem, input.priors, clamped->x.head(fit_count)), most_iterations);
    const bool bent = clamped && std::exp(clamped->x[i_clamp_ohm]) < no_clamp_ohm, conduct = bent && clamped->cost + clamps_cost < best->cost;
    if (bent) undecided_ratio_u = undecided_u(*best, *clamped, conduct);
    problem.model_clamps(conduct);
    if (conduct) best = clamped;
    if (!conduct && clamped && clamped->cost < best->cost) {
      const auto without = solve(problem, input.priors, with_shifts(problem, input.priors, clamped->x.head(fit_count)), most_iterations);
      if (without.cost < best->cost) best = without;
    }
    if (!conduct) problem.use_grid(grid_for(best->x, input.priors, 4096));
  }
  fill(result, problem, input.priors, *best);
  result.covariance[i_ratio][i_ratio] += undecided_ratio_u * undecided_ratio_u;
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
