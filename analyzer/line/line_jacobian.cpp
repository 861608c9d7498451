#include "analyzer/line/line_problem.hpp"

namespace pulsewright::analyzer {

LineProblem::Influence LineProblem::influence_of(std::size_t parameter) const {
  if (parameter == i_clamp_high || parameter == i_clamp_low || parameter == i_clamp_ohm) return clamps_ ? Influence::clamps : Influence::none;
  if (parameter == i_low || parameter == i_high) return clamps_ ? Influence::clamps : Influence::level;
  return Influence::all;
}

Eigen::MatrixXd LineProblem::jacobian(const Vector& x, const Response& response, const Vector& weights, const Vector& r) const {
  constexpr double step = 1e-3;
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(r.size(), x.size());
  for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(fit_count); ++k) {
    Vector moved = x, after = r;
    moved[k] += step;
    switch (influence_of(static_cast<std::size_t>(k))) {
      case Influence::all: after = residuals(moved, response_at(moved, &response), weights); break;
      case Influence::clamps: after = residuals(moved, clamped_anew(response, moved), weights); break;
      case Influence::level:
      case Influence::none: fill_beliefs(moved, response, after);
    }
    j.col(k) = (after - r) / step;
  }
  if (!clamps_) fill_level_columns(x, response, weights, j);
  fill_shift_columns(x, response, weights, j);
  return j;
}

// v = low + (high - low) S with S from the response.
void LineProblem::fill_level_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const {
  Eigen::Index row = 0;
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    for (const double v : model(c, x, response)) {
      const double share = (v - x[i_low]) / (x[i_high] - x[i_low]);
      j(row, i_low) = (1 - share) * weights[row], j(row, i_high) = share * weights[row];
      ++row;
    }
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

}  // namespace pulsewright::analyzer
