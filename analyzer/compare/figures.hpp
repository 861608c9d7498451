#pragma once
// The figures that a comparison looks at, side by side.

#include <cstddef>
#include <vector>

#include "analyzer/compare.hpp"

namespace pulsewright::analyzer {

/// Every figure that at least one of the two has, with its change and combined standard uncertainty. Not judged yet:
/// `better` says which direction the change went for the receiver (missing: it does not matter to the receiver).
std::vector<Difference> differences_between(const Diagnosis& before, const Diagnosis& after, const BitsCompared& bits);

/// How many of them have a change with an uncertainty, so that they can be judged.
std::size_t judgeable(const std::vector<Difference>& differences);

/// Sets `significant` where |change| exceeds `coverage_factor` standard uncertainties, and clears `better` elsewhere.
void judge_differences(std::vector<Difference>& differences, double coverage_factor);

}  // namespace pulsewright::analyzer
