#pragma once
// Closed-form signals with known truth: bits -> edges at nominal times -> step response -> sampled, noise, converter.
//
//   auto signal = waveforms::bit_train({.bits = waveforms::bits_of({0xFF, 0x00, 0x12})}, waveforms::lattice({.td_s = 46e-9}));
//   auto record = waveforms::sample(signal, {.sample_interval_s = 10e-9, .noise_rms_v = 0.02});
//   analyzer::measure_states(record.view());

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <numbers>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "analyzer/pulse/sample_view.hpp"
#include "importers/capture.hpp"

namespace pulsewright::waveforms {

/// Unit step response: 0 long before, 1 long after; `settled_s`: instant from which it is 1 for all purposes.
struct StepResponse {
  std::function<double(double)> at;
  double begins_s = 0;
  double settled_s = 0;
};

/// Linear ramp from 0 to 1 in `duration_s`, beginning at 0; 0: ideal step.
inline StepResponse ramp(double duration_s) {
  return {[=](double t) { return duration_s <= 0 ? (t >= 0 ? 1.0 : 0.0) : std::clamp(t / duration_s, 0.0, 1.0); }, 0,
          std::max(duration_s, 0.0)};
}

/// 1 - exp(-t / tau)
inline StepResponse single_pole(double tau_s) {
  return {[=](double t) { return t <= 0 ? 0.0 : -std::expm1(-t / tau_s); }, 0, 40 * tau_s};
}

/// Integral of a Gaussian, 50 % at 0.
inline StepResponse gaussian(double sigma_s) {
  return {[=](double t) { return 0.5 * std::erfc(-t / (sigma_s * std::numbers::sqrt2)); }, -8 * sigma_s, 8 * sigma_s};
}

/// Second-order low pass, natural angular frequency and damping ratio below 1.
inline StepResponse second_order(double omega_n_per_s, double zeta) {
  const double root = std::sqrt(1 - zeta * zeta), omega_d = omega_n_per_s * root;
  return {[=](double t) {
            if (t <= 0) return 0.0;
            const double e = std::exp(-zeta * omega_n_per_s * t);
            return 1 - e * (std::cos(omega_d * t) + zeta / root * std::sin(omega_d * t));
          },
          0, 36 / (zeta * omega_n_per_s)};
}

/// Open end of a lossless line behind a resistive source; see the wave sum in `lattice`.
struct LineShape {
  double source_ratio = 0.25;  ///< R / Z0
  double td_s = 46.21e-9;      ///< one-way delay; the first arrival is at td_s
  double edge_s = 2e-9;        ///< 0-100 % ramp of the driver
  double gaussian_s = 0;       ///< sigma of a Gaussian system on top (scope, probe); 0: none
};

/// Sum of arrivals: after the n-th, at (2n - 1) Td, the level is 1 - gamma^n, gamma = (R - Z0) / (R + Z0). Each arrival has
/// the driver's ramp, smoothed by the Gaussian system (exact convolution).
inline StepResponse lattice(const LineShape& line) {
  const double gamma = (line.source_ratio - 1) / (line.source_ratio + 1);
  const auto one = [edge = line.edge_s, sigma = line.gaussian_s](double t) {
    if (sigma <= 0) return edge <= 0 ? (t >= 0 ? 1.0 : 0.0) : std::clamp(t / edge, 0.0, 1.0);
    const auto cdf = [](double x) { return 0.5 * std::erfc(-x / std::numbers::sqrt2); };
    const auto integral = [&](double x) { return x * cdf(x) + std::exp(-x * x / 2) / std::sqrt(2 * std::numbers::pi); };
    if (edge <= 0) return cdf(t / sigma);
    return sigma / edge * (integral(t / sigma) - integral((t - edge) / sigma));
  };
  const int arrivals =
      gamma == 0 ? 1 : std::clamp(static_cast<int>(std::ceil(std::log(1e-9) / std::log(std::abs(gamma)))), 1, 2000);
  const double blur = 8 * line.gaussian_s;
  return {[=, td = line.td_s, edge = line.edge_s](double t) {
            const int settled = std::clamp(static_cast<int>(std::floor(((t - edge - blur) / td + 1) / 2)), 0, arrivals);
            double sum = 1 - std::pow(gamma, settled), height = (1 - gamma) * std::pow(gamma, settled);
            for (int n = settled + 1; n <= arrivals; ++n, height *= gamma) {
              const double after = t - (2 * n - 1) * td;
              if (after < -blur) break;
              sum += height * one(after);
            }
            return sum;
          },
          line.td_s - blur, (2 * arrivals + 1) * line.td_s + line.edge_s + blur};
}

/// Open end of a lossless line as in `lattice`, driven by a step and seen through `probe`.
inline StepResponse seen_through(const StepResponse& probe, double source_ratio, double td_s) {
  const double gamma = (source_ratio - 1) / (source_ratio + 1);
  constexpr int arrivals = 60;
  return {[=](double t) {
            double sum = 0, height = 1 - gamma;
            for (int n = 0; n < arrivals && t > (2 * n + 1) * td_s; ++n, height *= gamma) sum += height * probe.at(t - (2 * n + 1) * td_s);
            return sum;
          },
          td_s + probe.begins_s, 2 * arrivals * td_s + probe.settled_s};
}

/// A two-level signal: `low_v` plus the amplitude times the sum of shifted step responses.
struct Signal {
  StepResponse step;
  std::vector<double> edges_s;  ///< driver instants, alternating, the first rising
  double low_v = 0, high_v = 5;
  double end_s = 0;             ///< where the signal as described ends

  double at(double t) const {
    // Edges that have settled cancel in pairs; only the recent ones are summed.
    const auto last = std::upper_bound(edges_s.begin(), edges_s.end(), t - step.begins_s) - edges_s.begin();
    const auto settled = std::upper_bound(edges_s.begin(), edges_s.end(), t - step.settled_s) - edges_s.begin();
    double sum = settled % 2 ? 1 : 0;
    for (auto i = settled; i < last; ++i) sum += (i % 2 ? -1 : 1) * step.at(t - edges_s[static_cast<std::size_t>(i)]);
    return low_v + (high_v - low_v) * sum;
  }
};

/// Bits of whole bytes, most significant first.
inline std::vector<bool> bits_of(const std::vector<std::uint8_t>& bytes) {
  std::vector<bool> bits;
  for (const auto byte : bytes)
    for (int i = 7; i >= 0; --i) bits.push_back(byte >> i & 1);
  return bits;
}

/// Reproducible random bits.
inline std::vector<bool> random_bits(std::size_t count, unsigned seed) {
  std::mt19937 generator(seed);
  std::vector<bool> bits(count);
  for (auto&& bit : bits) bit = generator() & 1;
  return bits;
}

struct BitTrain {
  std::vector<bool> bits;
  double t0h_s = 400e-9, t0l_s = 850e-9, t1h_s = 800e-9, t1l_s = 450e-9;
  double idle_s = 20e-6;       ///< low before the first frame and after the last
  std::size_t frames = 1;      ///< the same bits again
  double latch_gap_s = 300e-6; ///< low between frames
  double low_v = 0, high_v = 5;
  double jitter_s = 0;         ///< rms of each edge
  unsigned seed = 1;
};

/// The pixel bits at their times through a step response.
inline Signal bit_train(const BitTrain& train, StepResponse step) {
  Signal signal{.step = std::move(step), .edges_s = {}, .low_v = train.low_v, .high_v = train.high_v, .end_s = 0};
  std::mt19937 generator(train.seed);
  std::normal_distribution<double> normal(0, 1);
  const auto jitter = [&] { return train.jitter_s > 0 ? train.jitter_s * normal(generator) : 0.0; };
  double t = train.idle_s;
  for (std::size_t frame = 0; frame < train.frames; ++frame) {
    if (frame) t += train.latch_gap_s;
    for (const bool bit : train.bits) {
      signal.edges_s.push_back(t + jitter());
      t += bit ? train.t1h_s : train.t0h_s;
      signal.edges_s.push_back(t + jitter());
      t += bit ? train.t1l_s : train.t0l_s;
    }
  }
  signal.end_s = t + train.idle_s;
  return signal;
}

/// Probe, scope and converter.
struct Scope {
  double sample_interval_s = 10e-9;
  double start_s = 0;            ///< instant of the first sample: the phase
  double span_s = 0;             ///< 0: to the end of the signal
  double noise_rms_v = 0;        ///< white, Gaussian
  unsigned adc_bits = 8;         ///< 0: no converter
  double range_low_v = -2, range_high_v = 8;
  double gain = 1, offset_v = 0; ///< the scope's own error
  double clock_ratio = 1;        ///< true sample interval over the one that the record claims
  unsigned seed = 1;
};

/// One record, with the interval that it claims.
struct Record {
  std::vector<float> volts;
  double sample_interval_s = 0, start_s = 0;

  analyzer::SampleView view() const {
    return {.values = volts, .scale = 1, .offset = 0, .sample_interval_s = sample_interval_s, .start_s = start_s};
  }

  importers::Capture capture(std::string name = "made in a test") const {
    importers::Capture made;
    made.file_name = std::move(name);
    made.format = "text";
    made.dialect = "made in a test";
    made.sample_interval_s = sample_interval_s;
    made.sample_interval_rule = "as made";
    made.start_s = start_s;
    made.span_s = volts.empty() ? 0 : static_cast<double>(volts.size() - 1) * sample_interval_s;
    made.samples = volts.size();
    importers::Channel channel;
    channel.name = "data";
    channel.unit = "V";
    channel.values.assign(volts.begin(), volts.end());
    made.channels.push_back(std::move(channel));
    return made;
  }
};

/// Samples any function of time.
template <class Function>
Record sample_function(const Function& volts_at, double span_s, const Scope& scope) {
  Record record{.volts = {}, .sample_interval_s = scope.sample_interval_s, .start_s = scope.start_s};
  const auto count = static_cast<std::size_t>(std::floor(span_s / scope.sample_interval_s + 1e-9)) + 1;
  record.volts.reserve(count);
  std::mt19937 generator(scope.seed);
  std::normal_distribution<double> normal(0, 1);
  const double codes = scope.adc_bits ? std::ldexp(1.0, static_cast<int>(scope.adc_bits)) : 0;
  const double step_v = codes > 0 ? (scope.range_high_v - scope.range_low_v) / codes : 0;
  for (std::size_t i = 0; i < count; ++i) {
    double v = volts_at(scope.start_s + static_cast<double>(i) * scope.sample_interval_s * scope.clock_ratio);
    v = scope.gain * v + scope.offset_v;
    if (scope.noise_rms_v > 0) v += scope.noise_rms_v * normal(generator);
    if (codes > 0) {
      const double code = std::clamp(std::floor((v - scope.range_low_v) / step_v), 0.0, codes - 1);
      v = scope.range_low_v + (code + 0.5) * step_v;
    }
    record.volts.push_back(static_cast<float>(v));
  }
  return record;
}

inline Record sample(const Signal& signal, const Scope& scope) {
  const double span_s = scope.span_s > 0 ? scope.span_s : signal.end_s - scope.start_s;
  return sample_function([&](double t) { return signal.at(t); }, span_s, scope);
}

/// The instant at which a step response first reaches `level`, by bisection between `from_s` and `to_s`.
inline double first_reaches(const StepResponse& step, double level, double from_s, double to_s, int grid = 20000) {
  double a = from_s;
  for (int i = 1; i <= grid; ++i) {
    const double b = from_s + (to_s - from_s) * i / grid;
    if (step.at(b) >= level) {
      double low = a, high = b;
      for (int k = 0; k < 80; ++k) (step.at((low + high) / 2) >= level ? high : low) = (low + high) / 2;
      return high;
    }
    a = b;
  }
  return std::numeric_limits<double>::quiet_NaN();
}

/// The same signal as a logic analyser sees it: the ideal edges on the grid of its sample clock (seen at the first sample
/// at or after the change).
inline std::vector<importers::LogicChange> logic_changes(const Signal& signal, double sample_interval_s, double phase_s) {
  std::vector<importers::LogicChange> changes{{phase_s, false}};
  bool high = false;
  for (const double edge : signal.edges_s) {
    high = !high;
    const double seen = phase_s + std::ceil((edge - phase_s) / sample_interval_s) * sample_interval_s;
    if (changes.size() > 1 && changes.back().time_s == seen) {
      changes.pop_back();
    } else {
      changes.push_back({seen, high});
    }
  }
  return changes;
}

/// A capture of one logic channel; the first change is the state at the beginning.
inline importers::Capture logic_capture(std::vector<importers::LogicChange> changes, double sample_interval_s, double span_s) {
  importers::Capture capture;
  capture.file_name = "made in a test";
  capture.sample_interval_s = sample_interval_s;
  capture.samples = changes.size();
  capture.start_s = changes.front().time_s;
  capture.span_s = span_s;
  importers::Channel channel;
  channel.name = "data";
  channel.kind = importers::ChannelKind::logic;
  channel.changes = std::move(changes);
  capture.channels.push_back(std::move(channel));
  return capture;
}

}  // namespace pulsewright::waveforms
