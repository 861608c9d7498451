#pragma once
// What the instrument adds to every figure.

#include <cmath>

#include "analyzer/settings.hpp"

namespace pulsewright::analyzer {

/// Standard uncertainties (k = 1) of the instrument, relative. A limit of error a counts as a rectangular distribution,
/// u = a / sqrt(3) (JCGM 100:2008, 4.3.7). Without a statement: gain within 3 %, sample clock within 50e-6 (common
/// practice, no source).
struct Accuracy {
  double gain_ratio_u = 0.03 / std::sqrt(3.0);
  double timebase_ratio_u = 50e-6 / std::sqrt(3.0);

  static Accuracy of(const Settings& settings) {
    Accuracy accuracy;
    if (settings.gain_accuracy_ratio) accuracy.gain_ratio_u = *settings.gain_accuracy_ratio / std::sqrt(3.0);
    if (settings.timebase_accuracy_ratio) accuracy.timebase_ratio_u = *settings.timebase_accuracy_ratio / std::sqrt(3.0);
    return accuracy;
  }
};

/// Root of the sum of squares.
template <class... Parts>
double root_sum_square(Parts... parts) {
  return std::sqrt((0.0 + ... + (parts * parts)));
}

}  // namespace pulsewright::analyzer
