// Reading from memory, one thread, in bytes a second: forms of text, WAV and change lists.

#include <benchmark/benchmark.h>

#include <cstdio>
#include <span>
#include <string>

#include "importers/import.hpp"

namespace {

using pulsewright::importers::import_bytes;

constexpr int rows = 300'000;

/// Rows of an invented square wave, `row` being printed with its time and voltage.
std::string table(const char* head, const char* row) {
  std::string text = head;
  char line[96];
  for (int i = 0; i < rows; ++i) {
    std::snprintf(line, sizeof line, row, 1e-6 + i * 4e-9, (i / 50 % 2) * 3.3 + 0.004 * (i * 97 % 11));
    text += line;
  }
  return text;
}

std::string change_list() {
  std::string text = "Time [s],DIN\n";
  char line[48];
  for (int i = 0; i < rows; ++i) {
    std::snprintf(line, sizeof line, "%.9f,%d\n", i * 625e-9 + (i % 2) * (i % 3 == 0 ? 175e-9 : -225e-9), i % 2);
    text += line;
  }
  return text;
}

std::string wav() {
  const auto little = [](unsigned value, int bytes) {
    std::string text;
    for (int i = 0; i < bytes; ++i) text += static_cast<char>(value >> 8 * i & 255);
    return text;
  };
  std::string samples;
  for (int i = 0; i < rows; ++i) samples += little(static_cast<unsigned>(i / 50 % 2 * 20000 + i * 97 % 300), 2);
  const auto size = static_cast<unsigned>(samples.size());
  return "RIFF" + little(36 + size, 4) + "WAVEfmt " + little(16, 4) + little(1, 2) + little(1, 2) + little(20'000'000, 4) + little(40'000'000, 4) +
         little(2, 2) + little(16, 2) + "data" + little(size, 4) + samples;
}

void reading(benchmark::State& state, const std::string& bytes) {
  for (auto _ : state)
    benchmark::DoNotOptimize(import_bytes("bench", std::as_bytes(std::span(bytes)), {.want_sha256 = false, .threads = 1}).samples);
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations() * bytes.size()));
  state.SetItemsProcessed(static_cast<std::int64_t>(state.iterations()) * rows);
}

}  // namespace

int main(int count, char** arguments) {
  const char* const head = "Time (s),CH1 (V)\n";
  benchmark::RegisterBenchmark("scientific notation", reading, table(head, "%.8e,%.4e\n"));
  benchmark::RegisterBenchmark("fixed decimals", reading, table(head, "%.9f,%.4f\n"));
  benchmark::RegisterBenchmark("times rounded to 10 ns", reading, table(head, "%.8f,%.4f\n"));
  benchmark::RegisterBenchmark("shortest form", reading, table(head, "%.9g,%.5g\n"));
  benchmark::RegisterBenchmark("semicolons, decimals behind blanks", reading, table("Time (s);CH1 (V)\n", "%.9f; %.4f\n"));
  benchmark::RegisterBenchmark("change list", reading, change_list());
  benchmark::RegisterBenchmark("WAV, 16 bit", reading, wav());
  benchmark::Initialize(&count, arguments);
  benchmark::RunSpecifiedBenchmarks();
}
