#pragma once

#include <cstddef>

namespace pulsewright::importers {

/// Asks the system to back memory that will be filled from front to back with large pages: fewer faults while it fills and
/// quicker to give back. Nothing where the memory is small or the system has none.
void advise_large_pages(void* memory, std::size_t bytes);

}  // namespace pulsewright::importers
