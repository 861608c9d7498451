#include "analyzer/pulse/converter.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace pulsewright::analyzer {

namespace {

// Values that occur, from stretches spread over the record.
std::vector<double> occurring_values(const SampleView& samples) {
  constexpr std::size_t stretches = 64, length = 1024;
  std::vector<double> values;
  const std::size_t n = samples.size();
  if (n <= stretches * length) {
    for (std::size_t i = 0; i < n; ++i) values.push_back(samples[i]);
  } else {
    for (std::size_t s = 0; s < stretches; ++s)
      for (std::size_t i = 0; i < length; ++i) values.push_back(samples[s * (n - length) / (stretches - 1) + i]);
  }
  std::sort(values.begin(), values.end());
  return values;
}

}  // namespace

Measured adc_step(const SampleView& samples) {
  auto values = occurring_values(samples);
  const std::size_t taken = values.size();
  const double range = values.back() - values.front();
  if (!(range > 0)) return Measured::none("only one value occurs");
  const auto same = [&](double a, double b) { return std::abs(a - b) <= 1e-6 * range; };
  values.erase(std::unique(values.begin(), values.end(), same), values.end());
  if (values.size() < 3 || values.size() > taken / 3) return Measured::none("no step visible in the values");

  double step = range;
  for (std::size_t i = 1; i < values.size(); ++i) step = std::min(step, values[i] - values[i - 1]);
  double code = 0, previous = values.front(), n = 0, si = 0, sv = 0, sii = 0, siv = 0;
  for (const double v : values) {  // codes are counted from value to value: printed decimals round each value only once
    code += std::round((v - previous) / step);
    previous = v;
    const double y = v - values.front();
    n += 1, si += code, sv += y, sii += code * code, siv += code * y;
  }
  const double slope = (n * siv - si * sv) / (n * sii - si * si);
  const double start = (sv - slope * si) / n;
  double squares = 0;
  code = 0, previous = values.front();
  for (const double v : values) {
    code += std::round((v - previous) / step);
    previous = v;
    const double miss = v - values.front() - start - code * slope;
    squares += miss * miss;
  }
  const double rms = std::sqrt(squares / n);
  if (!(slope > 0) || rms > 0.15 * slope) return Measured::none("values are not evenly spaced");
  return Measured::of(slope, rms / std::max(1.0, std::sqrt(sii - si * si / n)));
}

double averaged_step_u(double noise_rms_v, double step_v) {
  if (!(step_v > 0)) return 0;
  const double r2 = std::max(0.0, noise_rms_v * noise_rms_v / (step_v * step_v) - 1.0 / 12);
  return step_v * std::min(1 / std::sqrt(12.0),
                           std::exp(-2 * std::numbers::pi * std::numbers::pi * r2) / (std::numbers::pi * std::numbers::sqrt2));
}

}  // namespace pulsewright::analyzer
