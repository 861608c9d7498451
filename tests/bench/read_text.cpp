// Reads one file through the importer, as a whole process for timing: rows, interval and peak memory.

#include <sys/resource.h>

#include <cstdio>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

int main(int count, char** arguments) {
  if (count != 2) return 64;
  try {
    const auto capture = pulsewright::importers::import_file(arguments[1], {.want_sha256 = false, .threads = 2});
    rusage usage{};
    ::getrusage(RUSAGE_SELF, &usage);
    std::printf("%zu samples of %.6g s, peak %.2f bytes a sample\n", capture.samples, capture.sample_interval_s,
                static_cast<double>(usage.ru_maxrss) * 1024 / static_cast<double>(capture.samples));
  } catch (const pulsewright::importers::ImportError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 65;
  }
}
