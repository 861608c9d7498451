#include "analyzer/line/clamp.hpp"

#include <algorithm>

namespace pulsewright::analyzer {

namespace {

// sum[n + j] -= current * response[j], from j = `first` on.
void draw(std::vector<double>& sum, std::size_t n, double current_a, std::span<const double> response, std::size_t first) {
  const std::size_t count = std::min(response.size(), sum.size() - n);
  double* place = sum.data() + n;
  for (std::size_t j = first; j < count; ++j) place[j] -= current_a * response[j];
}

}  // namespace

Clamped clamp(std::vector<double> far_v, const Clamp& clamp, std::span<const double> response) {
  Clamped made{.far_v = std::move(far_v), .current_a = {}};
  made.current_a.assign(made.far_v.size(), 0);
  const double own_ohm = response.front();
  for (std::size_t n = 0; n < made.far_v.size(); ++n) {
    auto& v = made.far_v[n];
    const double beyond_v = v > clamp.high_v ? v - clamp.high_v : v < clamp.low_v ? v - clamp.low_v : 0;
    if (beyond_v == 0) continue;
    const double current_a = beyond_v / (clamp.ohm + own_ohm);
    made.current_a[n] = current_a;
    draw(made.far_v, n, current_a, response, 0);
  }
  return made;
}

std::vector<double> voltage_of(std::span<const double> current_a, std::span<const double> response) {
  std::vector<double> v(current_a.size(), 0);
  for (std::size_t n = 0; n < current_a.size(); ++n)
    if (current_a[n] != 0) draw(v, n, current_a[n], response, 0);
  return v;
}

}  // namespace pulsewright::analyzer
