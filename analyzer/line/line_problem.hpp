#pragma once
// The least-squares problem of the line fit: edge classes against the model, beliefs against the parameters.

#include <Eigen/Dense>
#include <array>
#include <memory>
#include <optional>
#include <vector>

#include "analyzer/line/clamp.hpp"
#include "analyzer/line/fit.hpp"

namespace pulsewright::analyzer {

struct Bound {
  double low, high;
};

/// Far 50 % instant less the near one, from edges seen at both ends.
struct DelayObservation {
  bool rising;
  double value_s, u_s;
};

struct Steps {
  StepResponseGrid rising, falling;
};

/// What the model shows for one set of parameters.
struct Response {
  std::shared_ptr<const LineWaves> waves;
  std::array<std::shared_ptr<const LineSpectrum>, 2> spectra;  ///< by LineEnd, as the instrument shows it
  std::array<std::optional<Steps>, 2> at_end;                  ///< the same behind the source
  std::array<std::shared_ptr<const ClampedLine>, 2> clamped;   ///< with clamps, where they are modelled
  /// Where clamps are modelled, for each class: what they add, evenly spaced from `first_s`, for its shift at that time.
  struct Correction {
    double first_s = 0, step_s = 1, shift_s = 0;
    std::vector<double> v;
    double at(double t_s) const;
    double slope_at(double t_s) const;  ///< in V/s
  };
  std::vector<Correction> corrections;
};

/// Unknowns: the coordinates of FitIndex, then the instants of the driver's edges on the axes of the classes (one a class; one
/// for all edges of an end and direction where the line dwells). Residuals are over standard uncertainty.
class LineProblem {
 public:
  using Vector = Eigen::VectorXd;

  LineProblem(std::vector<EdgeClass> classes, const FitInput& input);

  std::size_t parameters() const { return fit_count + shifts_; }
  std::size_t rows() const;
  std::size_t data_rows() const { return rows() - fit_count - 1 - delays_.size(); }
  const std::vector<EdgeClass>& classes() const { return classes_; }
  const std::vector<DelayObservation>& delays() const { return delays_; }
  const Vector& prior_mean() const { return prior_mean_; }
  const Vector& prior_sd() const { return prior_sd_; }
  double swing_v() const { return swing_v_; }
  std::array<Bound, fit_count> bounds() const;
  /// Index of the unknown that shifts a class.
  std::size_t shift_index(std::size_t c) const { return fit_count + shift_of_[c]; }

  void use_grid(const LineGrid& grid) { grid_ = grid; }
  void model_clamps(bool yes) { clamps_ = yes; }
  bool clamps_modelled() const { return clamps_; }
  /// What a capacitance of the driver's pin, pads and terminal, which no parameter stands for, would add to the voltages.
  Vector volts_of_near_capacitance(const Vector& x, const Response& response) const;
  /// The record goes further beyond a rail than a clamp's knee, or at the near end the line must do so at the far one.
  bool clamps_may_conduct(const LinePoint& line) const;

  Response response_at(const Vector& x) const;
  /// The same where nothing but the source differs from a response known already.
  Response response_behind(const Vector& x, const Response& known) const;
  /// Shifts that put the model's edge at the alignment level to instant 0, ignoring earlier bits.
  void start_shifts(Vector& x, const Response& response) const;
  /// Voltages of the model, one class after the other.
  Vector volts(const Vector& x, const Response& response) const;
  /// Of the data rows; frozen during one iteration.
  Vector weights(const Vector& volts) const;
  Vector residuals(const Vector& x, const Response& response, const Vector& volts, const Vector& weights) const;
  /// Derivatives of the residuals at `x`: in closed form, but for what clamps add.
  Eigen::MatrixXd jacobian(const Vector& x, const Response& response, const Vector& volts, const Vector& weights) const;

 private:
  Vector of_what_shows(Vector weights, const Vector& volts) const;
  void add_clamp_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const;
  Response moved_clamps(const Vector& moved, std::size_t parameter, const Response& known) const;
  void fill_beliefs(const Vector& x, const Response& response, Vector& r) const;
  void fill_belief_columns(const Vector& x, Eigen::MatrixXd& j) const;
  void fill_line_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const;
  void fill_level_columns(const Vector& x, const Vector& volts, const Vector& weights, Eigen::MatrixXd& j) const;
  void fill_shift_columns(const Vector& x, const Response& response, const Vector& weights, Eigen::MatrixXd& j) const;
  std::size_t owner_of(std::size_t c, std::size_t edge) const;
  void set_levels(const FitInput& input);
  void set_priors();
  void name_shifts();
  int offset_of(LineEnd end) const;
  int like(LineEnd end, bool rising, std::size_t fallback) const;
  /// As captured at `end`: with the probe there, and with the one at the other end where both were on the line at once.
  LineParameters probed(const LinePoint& p, LineEnd end) const;
  std::vector<SourceEdge> source_edges(std::size_t c, const Vector& x) const;
  void add_steps(Response& response, const LinePoint& p) const;
  void add_clamped_lines(Response& response, const LinePoint& p) const;
  /// Of one class, without what clamps add.
  std::vector<double> model(std::size_t c, const Vector& x, const Response& response) const;
  Vector clamp_volts(const Vector& x, const Response& response) const;
  void add_corrections(Response& response, const LinePoint& p, const Vector& x) const;
  Response::Correction correction(std::size_t c, const ClampedLine& line, const LinePoint& p, const Vector& x) const;
  double driver_u_ohm() const;
  double driver_residual(const Vector& x) const;
  double delay_between(bool rising, const Response& response) const;

  std::vector<EdgeClass> classes_;
  LinePriors priors_;
  LineGrid grid_;
  std::vector<DelayObservation> delays_;
  std::vector<std::size_t> shift_of_;
  std::size_t shifts_ = 0;
  double near_f_ = 0;  ///< at the near end, a probe's apart
  std::array<double, 2> alignment_{0.5, 0.5};
  Vector prior_mean_, prior_sd_;
  double low_v_ = 0, high_v_ = 5, swing_v_ = 5, low_u_v_ = 0, high_u_v_ = 0;
  bool has_far_ = false, has_near_ = false, both_probes_at_once_ = false, clamps_ = false;
};

}  // namespace pulsewright::analyzer
