#pragma once
// The line that makes these edges: bounded least squares with priors.

#include <cstddef>
#include <string>
#include <vector>

#include "analyzer/line/clamp.hpp"
#include "analyzer/line/fold.hpp"
#include "analyzer/line/line_model.hpp"

namespace pulsewright::analyzer {

/// A Gaussian belief; of the logarithm where the fit works in logarithms.
struct Prior {
  double mean = 0, sd = 1;
};

/// What was known before looking at the capture.
struct LinePriors {
  Prior z0_ohm{100, 20};
  double delay_s_per_m = 5.2e-9, delay_u_s_per_m = 0.4e-9;
  double length_m = 0;            ///< 0: not known
  Prior driver_ohm{30, 15};
  double sides_ratio_sd = 0.15;   ///< of the logarithm of falling over rising source resistance
  double series_ohm = -1;         ///< below 0: not known
  double loop_ohm_per_m = 0.06, loop_log_sd = 0.5;
  double pixel_f = 11e-12, pixel_log_sd = 0.35;  ///< data sheets: 15 pF at most
  double edge_s = 5e-9, edge_log_sd = 0.6;
  double bandwidth_hz = 70e6, bandwidth_log_sd = 0.7;  ///< sd near 0 where stated
  double probe_f = 12e-12;
  double supply_v = 5;
  std::vector<std::string> assumed;  ///< each default in plain words
};

/// Priors from what the user stated and the tables; what was not stated is listed in `assumed`.
LinePriors priors_from(const Settings* stated, const SettingsUsed* used);

/// Physical parameters in the fit's own coordinates: logarithms but for the two levels and, in volts beyond the rails, the knees
/// of the receiver's clamps.
enum FitIndex : std::size_t { i_z0, i_ratio, i_sides, i_delay, i_pixel, i_edge, i_bandwidth, i_loop, i_skin, i_low, i_high,
                             i_clamp_high, i_clamp_low, i_clamp_ohm, fit_count };

/// One point in parameter space in natural units.
struct LinePoint {
  LineParameters line;        ///< in service: pixel only, no probe, no instrument
  double rising_ohm = 0, falling_ohm = 0;  ///< driver and series resistor together
  double low_v = 0, high_v = 5;
  double bandwidth_hz = 0;
  Clamp clamp;                             ///< matters only where the fit has seen it
};

struct FitResult {
  bool usable = false;
  std::string why_not;
  LinePoint best;
  std::vector<double> coordinates;              ///< fit_count of them
  std::vector<std::vector<double>> covariance;  ///< of the coordinates, priors included
  std::vector<double> prior_sd;
  double rms_residual_v = 0, rms_expected_v = 0;
  double scale = 1;             ///< by which the covariance was widened because the model misses the edges
  bool converged = false;
  bool clamped = false;         ///< the receiver's clamps conduct, and are part of the model
  std::vector<std::size_t> at_bound;
  std::vector<EdgeClass> classes;
  std::vector<std::vector<double>> model_v;  ///< for each class at its instants
  std::vector<double> shift_s;               ///< for each class: instant of the driver's edge on the class's time axis
  double delay_between_ends_s = 0;           ///< measured, both ends; 0: one end only
};

struct FitInput {
  const LineNode* node = nullptr;
  const LineNode* other_end = nullptr;
  bool same_record = true;  ///< false: each end was captured alone, with its own time base and no probe at the other end
  LinePriors priors;
};

/// Levenberg-Marquardt from the best points of a coarse grid of R/Z0 and delay, outliers weighted after Huber. Where the far
/// end goes beyond a rail by more than 0.45 V, a second fit starts from the first, with the receiver's clamps in the model.
/// Bins are weighted by their scatter plus 2 % of the swing for what the model leaves out; what the parameters may be off by follows
/// from the residuals that are left (fit_covariance).
FitResult fit_line(const FitInput& input);

/// Natural units of a point in the fit's coordinates.
LinePoint point_at(const std::vector<double>& x, const LinePriors& priors);

/// `count` points drawn from the posterior (pairs mirrored about the best one, same draws every time).
std::vector<LinePoint> posterior_points(const FitResult& fit, const LinePriors& priors, std::size_t count);

}  // namespace pulsewright::analyzer
