#pragma once
// From margins to advice.

#include <optional>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "analyzer/line/closed_form.hpp"
#include "analyzer/line/fit.hpp"
#include "analyzer/line/sweep.hpp"

namespace pulsewright::analyzer {

struct AdviceInput {
  const FitResult* fit = nullptr;
  const LinePriors* priors = nullptr;
  const LineBelief* belief = nullptr;
  std::vector<SweptValue> swept;         ///< ascending
  std::optional<double> series_ohm_now;
  double series_ohm_now_guess = 0;       ///< source less the assumed driver, where it was not stated
  std::optional<SweptValue> present;     ///< the line as it is, where the resistor was not stated: the guess would add its doubt to it
  Receiver receiver;
  BitTimes times;
  double driver_current_limit_a = 0;     ///< 0: not known
  bool fit_is_doubtful = false;
};

/// The value with the best margin (E12 before E24 where it costs less than 0.06), the range whose every margin stays above
/// 0 by one standard deviation, and what to do where no resistor helps.
Suggestion advise(AdviceInput input);

/// Advice without a fit. `why_not` says why there is none.
Suggestion advise_without_fit(const std::optional<ClosedForm>& form, const LinePriors& priors, std::optional<double> series_ohm_now,
                              const std::string& why_not);

}  // namespace pulsewright::analyzer
