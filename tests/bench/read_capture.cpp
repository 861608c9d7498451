// Reads one file through the importer and computes what the peers compute, as a whole process for timing.

#include <sys/resource.h>

#include <algorithm>
#include <cstdio>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

int main(int count, char** arguments) {
  if (count != 2) return 64;
  try {
    const auto capture = pulsewright::importers::import_file(arguments[1], {.want_sha256 = false, .threads = 2});
    std::printf("%zu samples of %.6g s", capture.samples, capture.sample_interval_s);
    for (const auto& channel : capture.channels) {
      if (channel.values.empty()) {
        std::printf(", %zu changes", channel.changes.size());
        continue;
      }
      const auto [low, high] = std::minmax_element(channel.values.begin(), channel.values.end());
      const float middle = (*low + *high) / 2;
      std::size_t crossings = 0;
      for (std::size_t i = 1; i < channel.values.size(); ++i) crossings += (channel.values[i - 1] < middle) != (channel.values[i] < middle);
      std::printf(", %.6g to %.6g, %zu crossings of the middle", static_cast<double>(*low), static_cast<double>(*high), crossings);
    }
    rusage usage{};
    ::getrusage(RUSAGE_SELF, &usage);
    std::printf("; peak %.2f bytes a sample\n", static_cast<double>(usage.ru_maxrss) * 1024 / static_cast<double>(capture.samples));
  } catch (const pulsewright::importers::ImportError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 65;
  }
}
