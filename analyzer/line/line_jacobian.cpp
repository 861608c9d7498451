#include <cmath>

#include "analyzer/line/line_problem.hpp"
#include "analyzer/line/line_slopes.hpp"

namespace pulsewright::analyzer {

namespace {

// The unknowns that change the shape of a step come first among the coordinates.
constexpr int shape_count = i_skin + 1;
using Row = Eigen::Matrix<double, 1, shape_count>;
using Columns = Eigen::Matrix<double, Eigen::Dynamic, shape_count, Eigen::RowMajor>;

// Derivatives of a step by the coordinates, on its grid. `pixel_share`: of the far node's capacitance; `side`: what the ratio of the
// driver's sides does to this one.
Columns by_coordinates(const std::array<StepResponseGrid, knob_count>& slopes, double pixel_share, double side) {
  Columns columns(static_cast<Eigen::Index>(slopes[0].v.size()), shape_count);
  const auto of = [&](LineKnob knob) { return Eigen::Map<const Eigen::VectorXd>(slopes[knob].v.data(), columns.rows()); };
  columns.col(i_z0) = of(knob_z0) + of(knob_source);  // the source keeps its ratio
  columns.col(i_ratio) = of(knob_source);
  columns.col(i_sides) = side * of(knob_source);
  columns.col(i_delay) = of(knob_delay) + of(knob_loop) + of(knob_skin);  // a longer line loses more
  columns.col(i_pixel) = pixel_share * of(knob_far);
  columns.col(i_edge) = of(knob_edge);
  columns.col(i_bandwidth) = of(knob_bandwidth);
  columns.col(i_loop) = of(knob_loop);
  columns.col(i_skin) = of(knob_skin);
  return columns;
}

// Cubic between grid points, as StepResponseGrid::at; 0 outside.
void add_at(const Columns& columns, const StepResponseGrid& grid, double t_s, double factor, Row& sum) {
  const double place = (t_s - grid.first_s) / grid.step_s;
  if (!(place > 1) || place >= static_cast<double>(columns.rows() - 2)) return;
  const auto k = static_cast<Eigen::Index>(place);
  const double x = place - static_cast<double>(k);
  sum += factor * 0.5 * x * (-1 + x * (2 - x)) * columns.row(k - 1) + factor * (1 + 0.5 * x * x * (3 * x - 5)) * columns.row(k) +
         factor * 0.5 * x * (1 + x * (4 - 3 * x)) * columns.row(k + 1) + factor * 0.5 * x * x * (x - 1) * columns.row(k + 2);
}

struct StepColumns {
  Columns rising, falling;
};

// How the first passage of a level moves.
Row passage_row(const Columns& columns, const StepResponseGrid& step, double level) {
  Row row = Row::Zero();
  const double t_s = step.first_crossing_s(level);
  if (std::isfinite(t_s)) add_at(columns, step, t_s, -1 / step.slope_at(t_s), row);
  return row;
}

}  // namespace

Eigen::MatrixXd LineProblem::jacobian(const Vector& x, const Response& response, const Vector& volts, const Vector& given_weights) const {
  const Vector weights = of_what_shows(given_weights, volts);
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(rows()), x.size());
  fill_belief_columns(x, j);
  fill_line_columns(x, response, weights, j);
  fill_level_columns(x, clamps_ ? Vector(volts - clamp_volts(x, response)) : volts, weights, j);
  fill_shift_columns(x, response, weights, j);
  if (clamps_) add_clamp_columns(x, response, weights, j);
  return j;
}

// Nothing where the record could not show the model's level: there the residual does not change.
LineProblem::Vector LineProblem::of_what_shows(Vector weights, const Vector& volts) const {
  Eigen::Index row = 0;
  for (const auto& each : classes_)
    for (std::size_t i = 0; i < each.v.size(); ++i, ++row)
      if (each.hides(i, volts[row])) weights[row] = 0;
  return weights;
}

void LineProblem::fill_belief_columns(const Vector& x, Eigen::MatrixXd& j) const {
  auto row = static_cast<Eigen::Index>(data_rows());
  for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k, ++row) j(row, k) = 1 / prior_sd_[k];
  if (priors_.series_ohm >= 0) j(row, i_ratio) = j(row, i_z0) = std::exp(x[i_ratio] + x[i_z0]) / driver_u_ohm();
}

void LineProblem::fill_line_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const {
  const auto p = point_at({x.data(), x.data() + fit_count}, priors_);
  std::array<StepColumns, 2> at_end;
  for (const auto end : {LineEnd::near, LineEnd::far}) {
    const auto e = static_cast<std::size_t>(end);
    if (!response.at_end[e]) continue;
    const auto seen = probed(p, end);
    const LineSlopes slopes(seen, end, grid_, *response.waves);
    const double pixel_share = p.line.far_f / seen.far_f;
    at_end[e] = {by_coordinates(slopes.of(p.rising_ohm), pixel_share, -0.5), by_coordinates(slopes.of(p.falling_ohm), pixel_share, 0.5)};
  }
  Eigen::Index row = 0;
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    const auto end = static_cast<std::size_t>(classes_[c].end);
    const auto edges = source_edges(c, x);
    for (const double t : classes_[c].t_s) {
      Row sum = Row::Zero();
      for (const auto& edge : edges)
        add_at(edge.rising ? at_end[end].rising : at_end[end].falling, response.at_end[end]->rising, t - edge.time_s, edge.rising ? 1 : -1, sum);
      j.row(row).head<shape_count>() = (x[i_high] - x[i_low]) * weights[row] * sum;
      ++row;
    }
  }
  row += fit_count + 1;
  for (const auto& seen : delays_) {
    const auto passage = [&](std::size_t end) {
      return seen.rising ? passage_row(at_end[end].rising, response.at_end[end]->rising, alignment_[end])
                         : passage_row(at_end[end].falling, response.at_end[end]->falling, alignment_[end]);
    };
    j.row(row++).head<shape_count>() = (passage(1) - passage(0)) / seen.u_s;
  }
}

// v = low + (high - low) S with S from the response, where no clamp conducts.
void LineProblem::fill_level_columns(const Vector& x, const Vector& volts, const Vector& weights, Eigen::MatrixXd& j) const {
  for (Eigen::Index row = 0; row < volts.size(); ++row) {
    const double share = (volts[row] - x[i_low]) / (x[i_high] - x[i_low]);
    j(row, i_low) = (1 - share) * weights[row], j(row, i_high) = share * weights[row];
  }
}

// A step that comes later is lower by its slope; what the clamps add moves along with the edge of the class.
void LineProblem::fill_shift_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const {
  Eigen::Index first = 0;
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    const auto& t_s = classes_[c].t_s;
    const auto count = static_cast<Eigen::Index>(t_s.size());
    const auto& steps = *response.at_end[static_cast<std::size_t>(classes_[c].end)];
    const auto edges = source_edges(c, x);
    for (std::size_t e = 0; e < edges.size(); ++e) {
      const auto& step = edges[e].rising ? steps.rising : steps.falling;
      const double swing_v = edges[e].rising ? x[i_high] - x[i_low] : x[i_low] - x[i_high];
      const auto column = static_cast<Eigen::Index>(shift_index(owner_of(c, e)));
      for (Eigen::Index i = 0; i < count; ++i) j(first + i, column) -= swing_v * step.slope_at(t_s[static_cast<std::size_t>(i)] - edges[e].time_s) * weights[first + i];
    }
    if (!response.corrections.empty()) {
      const auto& clamped = response.corrections[c];
      for (Eigen::Index i = 0; i < count; ++i)
        j(first + i, static_cast<Eigen::Index>(shift_index(c))) -= clamped.slope_at(t_s[static_cast<std::size_t>(i)]) * weights[first + i];
    }
    first += count;
  }
}

// By forward differences: the current of a clamp has a history. Of what hardly changes it, no difference is taken.
void LineProblem::add_clamp_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const {
  constexpr double step = 1e-3;
  const Vector here = clamp_volts(x, response);
  for (std::size_t k = 0; k < fit_count; ++k) {
    if (k == i_loop || k == i_skin) continue;
    Vector moved = x;
    moved[static_cast<Eigen::Index>(k)] += step;
    j.col(static_cast<Eigen::Index>(k)).head(here.size()) += (clamp_volts(moved, moved_clamps(moved, k, response)) - here).cwiseProduct(weights) / step;
  }
}

Response LineProblem::moved_clamps(const Vector& moved, std::size_t parameter, const Response& known) const {
  const auto p = point_at({moved.data(), moved.data() + fit_count}, priors_);
  Response response;
  if (parameter < shape_count) {
    response.waves = known.waves->serve(p.line, grid_) ? known.waves : std::make_shared<const LineWaves>(p.line, grid_);
    add_clamped_lines(response, p);
  } else {
    response.clamped = known.clamped;
  }
  add_corrections(response, p, moved);
  return response;
}

}  // namespace pulsewright::analyzer
