#pragma once
// The stretches between transitions, and what they settle to.

#include <array>
#include <cstddef>
#include <vector>

#include "analyzer/pulse/sample_scan.hpp"
#include "analyzer/pulse/sample_view.hpp"

namespace pulsewright::analyzer {

/// The settled end of one plateau.
struct Plateau {
  std::size_t first = 0, last = 0;  ///< samples between the passages around it, last not included
  bool high = false;
  bool whole = true;                ///< false: the record begins or ends on it
  double value_v = 0;               ///< mean of the settled end
  std::array<double, 4> quarter_v{};  ///< means of the four quarters of that end; all alike when it has fewer than 4 samples
  std::size_t used = 0;             ///< samples in the mean; 0: too short
  std::size_t length() const { return last - first; }
};

/// Plateaus before, between and after the passages. The settled end is the last third without the last sample interval
/// and without the last tenth (where a slow edge may already have begun); at most 4096 samples of it are used.
std::vector<Plateau> plateaus_of(const SampleView& samples, const std::vector<Passage>& passages);

}  // namespace pulsewright::analyzer
