// Reads one file through the importer, as a whole process for timing: no pass over the values but the importer's own, as in the bare
// loop. With --crossings also computes what the peers compute of the values.

#include <sys/resource.h>

#include <algorithm>
#include <cstdio>
#include <string_view>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

namespace {

using pulsewright::importers::Samples;

void print_crossings(const Samples& values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  const float middle = (*low + *high) / 2;
  std::size_t crossings = 0;
  for (std::size_t i = 1; i < values.size(); ++i) crossings += (values[i - 1] < middle) != (values[i] < middle);
  std::printf(", %.6g to %.6g, %zu crossings of the middle", static_cast<double>(*low), static_cast<double>(*high), crossings);
}

}  // namespace

int main(int count, char** arguments) {
  const bool crossings = count == 3 && std::string_view(arguments[1]) == "--crossings";
  if (count != 2 && !crossings) return 64;
  try {
    const auto capture = pulsewright::importers::import_file(arguments[count - 1], {.want_sha256 = false, .threads = 2});
    std::printf("%zu samples of %.6g s", capture.samples, capture.sample_interval_s);
    for (const auto& channel : capture.channels) {
      if (channel.values.empty()) std::printf(", %zu changes", channel.changes.size());
      else if (crossings) print_crossings(channel.values);
    }
    rusage usage{};
    ::getrusage(RUSAGE_SELF, &usage);
    std::printf("; peak %.2f bytes a sample\n", static_cast<double>(usage.ru_maxrss) * 1024 / static_cast<double>(capture.samples));
  } catch (const pulsewright::importers::ImportError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 65;
  }
}
