#include <set>

#include "analyzer/protocol/windows.hpp"
#include "importers/import_error.hpp"
#include "tests/fuzz/checks.hpp"

namespace {

using namespace pulsewright;

void require_ordered(const analyzer::Window& window) {
  const double low = window.min_s.value_or(0), high = window.max_s.value_or(1);
  fuzz::require(low >= 0 && low <= high, "a window begins before it ends");
  if (window.nominal_s) fuzz::require(low <= *window.nominal_s && *window.nominal_s <= high, "the nominal time lies inside");
}

void require_usable(const analyzer::TimingWindows& entry, std::span<const analyzer::TimingWindows> all) {
  for (const auto* window : {&entry.t0h, &entry.t1h, &entry.t0l, &entry.t1l}) require_ordered(*window);
  fuzz::require(!entry.t0h.empty() && !entry.t1h.empty(), "both high times are given");
  fuzz::require(entry.t0h.typical_s() < entry.t1h.typical_s(), "a 0 is shorter than a 1");
  fuzz::require(entry.bits_per_pixel >= 1 && entry.bits_per_pixel <= 256, "a pixel has bits");
  fuzz::require(analyzer::find_windows(entry.id, all) == &entry, "an entry is found by its id");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const auto entries = analyzer::parse_windows(fuzz::text_of(data, size), "windows.txt");
    fuzz::require(!entries.empty(), "a text that is read has an entry");
    std::set<std::string> ids;
    for (const auto& entry : entries) {
      require_usable(entry, entries);
      fuzz::require(ids.insert(entry.id).second, "ids differ");
    }
  } catch (const importers::ImportError& error) {
    fuzz::require_one_line(error.what());
  }
  return 0;
}
