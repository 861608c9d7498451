#pragma once
// The whole: outcome, headline, causes, and a suggestion that agrees with them.

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/diagnosis.hpp"
#include "analyzer/verdict/checks.hpp"

namespace pulsewright::analyzer {

/// Worst answer of the checks that decide, kept to "cannot tell" where the capture is unfit or hides what a pass needs:
/// levels, peaks, returning edges and the high time of at least one class.
Outcome overall(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness);

/// Sets `diagnosis.verdict` from its checks and figures.
void conclude(Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness);

/// Makes the suggestion agree with the leading cause; the candidates of the line model stay.
void align_suggestion(Diagnosis& diagnosis);

}  // namespace pulsewright::analyzer
