#pragma once
// From answers to causes: what is wrong, how sure, what would refute it, what to do.

#include <vector>

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/diagnosis.hpp"
#include "analyzer/verdict/checks.hpp"

namespace pulsewright::analyzer {

/// Every cause that the evidence supports, most likely first; what makes the capture unfit stands before all others.
/// Reads the checks and figures of `diagnosis`. Empty when nothing is wrong.
std::vector<Cause> find_causes(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness);

/// The step that answers a cause; missing where the line model has to say (under- and overdamped source).
std::optional<Action> action_of(std::string_view cause_id);

}  // namespace pulsewright::analyzer
