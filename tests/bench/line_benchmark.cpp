// Where fit and sweep spend their time: 100 000 samples of an invented line, without and with clamp diodes that conduct. Each stage
// in milliseconds and in units of a fixed loop, one transform of 4096 points by FFTW, timed in the same run.

#include <benchmark/benchmark.h>
#include <fftw3.h>

#include <complex>
#include <ctime>
#include <string>
#include <vector>

#include "analyzer/line/driver_edges.hpp"
#include "analyzer/line/fit.hpp"
#include "analyzer/line/preferred_values.hpp"
#include "analyzer/line/sweep.hpp"
#include "tests/support/line_capture.hpp"

namespace {

using namespace pulsewright;
using namespace pulsewright::analyzer;

constexpr int points = 4096;

class Transform {
 public:
  Transform() : in_(points / 2 + 1, {1, 0}), out_(points) {
    plan_ = fftw_plan_dft_c2r_1d(points, reinterpret_cast<fftw_complex*>(in_.data()), out_.data(), FFTW_ESTIMATE);
  }
  void run() {
    fftw_execute(plan_);
    benchmark::DoNotOptimize(out_.data());
  }

 private:
  std::vector<std::complex<double>> in_;
  std::vector<double> out_;
  fftw_plan plan_;
};

// Processor time: a busy machine does not change it much.
double seconds_since(std::clock_t begin) { return static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC; }

double transform_s() {
  static const double seconds = [] {
    constexpr int times = 5000;
    Transform transform;
    for (int i = 0; i < 200; ++i) transform.run();
    const auto begin = std::clock();
    for (int i = 0; i < times; ++i) transform.run();
    return seconds_since(begin) / times;
  }();
  return seconds;
}

void stage(benchmark::State& state, const auto& work) {
  const auto begin = std::clock();
  for (auto _ : state) work();
  state.counters["transforms"] = seconds_since(begin) / static_cast<double>(state.iterations()) / transform_s();
}

struct Bench {
  tests::LineCapture capture;
  Settings settings;
  SettingsUsed used;
  LinePriors priors;
  LineNode node;
  DriverEdges edges;
  FitResult fit;
  LineBelief belief;

  Bench(const tests::LineTruth& truth, tests::LineCapture made) : capture(std::move(made)) {
    settings.series_ohm = truth.series_ohm;
    used.windows = *find_windows(kDefaultWindowsId, {});
    priors = priors_from(&settings, &used);
    node = capture.node();
    edges = driver_edges(node);
    node.transitions = edges.edges;
    fit = fit_line({.node = &node, .other_end = nullptr, .priors = priors});
    belief = belief_from(fit, priors);
  }
  void add(const std::string& name) {
    const auto each = [&](const char* what, auto work) {
      benchmark::RegisterBenchmark((name + ": " + what).c_str(), [work](benchmark::State& state) { stage(state, work); })
          ->Unit(benchmark::kMillisecond);
    };
    each("edges of the driver", [this] { benchmark::DoNotOptimize(driver_edges(node).edges.data()); });
    each("folding", [this] { benchmark::DoNotOptimize(fold_edges(node).data()); });
    each("fit, folding included", [this] { benchmark::DoNotOptimize(fit_line({.node = &node, .other_end = nullptr, .priors = priors}).best); });
    each("sweep", [this] {
      const Receiver receiver{used.vih_v, used.vil_v, used.supply_v, used.windows};
      benchmark::DoNotOptimize(sweep(belief, preferred_values(PreferredSeries::e24), {}, receiver).data());
    });
    each("whole", [this] {
      benchmark::DoNotOptimize(analyze_line({.node = capture.node(), .other_end = nullptr, .stated = &settings, .used = &used}).suggestion.confidence);
    });
  }
};

tests::LineTruth truth_with(double series_ohm) {
  tests::LineTruth truth;
  truth.series_ohm = series_ohm, truth.bits = 360;
  return truth;
}

}  // namespace

int main(int count, char** arguments) {
  const auto plain = truth_with(220), ringing = truth_with(0);
  Bench filling(plain, tests::capture_line(plain)), clamped(ringing, tests::capture_clamped_line(ringing, {.high_v = 5.7, .low_v = -0.7, .ohm = 20}));
  filling.add("no clamps"), clamped.add("clamps");
  LineParameters line;
  const auto grid = LineGrid{.points = points, .span_s = 4e-6};
  const auto model = [&] { benchmark::DoNotOptimize(LineSpectrum(line, LineEnd::far, grid).step_response(40).v.data()); };
  benchmark::RegisterBenchmark("one evaluation of the forward model", [&](benchmark::State& state) { stage(state, model); })
      ->Unit(benchmark::kMillisecond);
  benchmark::Initialize(&count, arguments);
  benchmark::RunSpecifiedBenchmarks();
}
