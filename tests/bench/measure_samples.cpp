// Passes of the measurement over 24 million samples, in milliseconds, beside a plain sum of the same samples.

#include <chrono>
#include <cstdio>
#include <numeric>

#include "analyzer/pulse/aberration.hpp"
#include "analyzer/pulse/pulse.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;

namespace {

template <class Work>
auto timed(const char* name, Work work) {
  const auto begin = std::chrono::steady_clock::now();
  auto result = work();
  const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - begin;
  std::printf("%-28s %8.1f ms\n", name, took.count());
  return result;
}

}  // namespace

int main() {
  // One frame of 600 bits and a pause, sampled at 100 MS/s, repeated to 24 million samples.
  const auto signal = waveforms::bit_train({.bits = waveforms::random_bits(600, 1), .idle_s = 150e-6}, waveforms::lattice({.source_ratio = 0.6, .edge_s = 8e-9, .gaussian_s = 4e-9}));
  auto record = waveforms::sample(signal, {.noise_rms_v = 0.03});
  const auto frame = record.volts;
  while (record.volts.size() < 24'000'000) record.volts.insert(record.volts.end(), frame.begin(), frame.end());
  const auto view = record.view();

  const float sum = timed("sum of the samples", [&] { return std::accumulate(record.volts.begin(), record.volts.end(), 0.0f); });
  auto states = timed("states", [&] { return analyzer::measure_states(view); });
  const auto transitions = timed("transitions", [&] { return analyzer::find_transitions(view, states.levels, 1.5, 3.5, *states.noise_rms_v, *states.adc_step_v); });
  timed("plateaus", [&] { return analyzer::measure_plateaus(view, transitions, states, states.levels), 0; });
  const analyzer::TransitionContext context{.samples = view, .states = &states, .accuracy = {}, .vil_v = 1.5, .vih_v = 3.5, .bandwidth_hz = {}};
  for (const bool rising : {true, false})
    timed(rising ? "rising edges" : "falling edges", [&] { return analyzer::summarize_transitions(context, transitions, states.levels, rising).count; });
  std::printf("%zu samples, %zu transitions (sum %g)\n", record.volts.size(), transitions.size(), static_cast<double>(sum));
}
