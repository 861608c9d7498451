#pragma once
// Every preferred resistor through the fitted line, in service: without probe and instrument.

#include <optional>
#include <vector>

#include "analyzer/line/fit.hpp"
#include "analyzer/line/margins.hpp"

namespace pulsewright::analyzer {

/// The line as believed: the best point first, then draws from the posterior, each with its driver alone.
struct LineBelief {
  struct Member {
    LineParameters line;               ///< in service
    double rising_ohm = 0, falling_ohm = 0;  ///< output resistance of the driver without series resistor
    double low_v = 0, high_v = 5;
    double bandwidth_hz = 0;
    std::optional<Clamp> clamp;        ///< where the fit has seen it conduct
  };
  std::vector<Member> members;
  double probe_f = 12e-12;
  double model_u_v = 0;                ///< of any predicted level: what the model leaves out
};

/// Splits the source resistance into driver and series resistor. Without a stated resistor the driver is drawn from its
/// prior, at most as large as the source.
LineBelief belief_from(const FitResult& fit, const LinePriors& priors, std::size_t draws = 12);

/// A judged candidate and how often the draws pass.
struct SweptValue {
  Candidate candidate;
  Margins best;               ///< of the best point
  double best_duration_s = 0; ///< 10-90 % edge of the best point; infinite where 90 % is not reached
  double share_works = 0;     ///< share of the belief whose functional margin is above 0
  double share_passes = 0;    ///< share whose every margin is above 0
  double score = 0;           ///< mean margin less half its standard deviation
};

/// One entry for each of `ohms`, ascending as given.
std::vector<SweptValue> sweep(const LineBelief& belief, const std::vector<double>& ohms, const BitTimes& times,
                              const Receiver& receiver);

}  // namespace pulsewright::analyzer
