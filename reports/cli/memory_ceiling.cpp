#include "reports/cli/memory_ceiling.hpp"

#include <malloc.h>
#ifndef _WIN32
#include <unistd.h>
#endif

#include <atomic>
#include <cstdlib>
#include <new>

namespace {

using Bytes = std::ptrdiff_t;  // what was allocated before the ceiling may be freed below it

std::atomic<Bytes> ceiling_bytes{0}, used_bytes{0};

Bytes size_of(void* place) {
#ifdef _WIN32
  return static_cast<Bytes>(_msize(place));
#else
  return static_cast<Bytes>(malloc_usable_size(place));
#endif
}

bool has_ceiling() { return ceiling_bytes.load(std::memory_order_relaxed) != 0; }

/// Asked before memory is taken, so that a huge request does not even reach the system.
bool fits(std::size_t bytes) {
  const Bytes ceiling = ceiling_bytes.load(std::memory_order_relaxed);
  return bytes <= static_cast<std::size_t>(ceiling) && used_bytes.load(std::memory_order_relaxed) <= ceiling - static_cast<Bytes>(bytes);
}

}  // namespace

void pulsewright::cli::set_memory_ceiling(std::size_t bytes) {
  used_bytes = 0;
  ceiling_bytes = static_cast<Bytes>(bytes);
}

std::size_t pulsewright::cli::usual_memory_ceiling_bytes() {
#ifndef _WIN32
  const long pages = ::sysconf(_SC_PHYS_PAGES), page_bytes = ::sysconf(_SC_PAGESIZE);
  if (pages > 0 && page_bytes > 0) return static_cast<std::size_t>(pages) / 4 * 3 * static_cast<std::size_t>(page_bytes);
#endif
  return 0;
}

// The standard library defines the forms for arrays through these.

void* operator new(std::size_t bytes) {
  const bool counted = has_ceiling();
  if (counted && !fits(bytes)) throw std::bad_alloc();
  void* place = std::malloc(bytes == 0 ? 1 : bytes);
  if (place == nullptr) throw std::bad_alloc();
  if (counted) used_bytes.fetch_add(size_of(place), std::memory_order_relaxed);
  return place;
}

// The library has one through the form above; AddressSanitizer puts its own in that place, which these deletes do not match.
void* operator new(std::size_t bytes, const std::nothrow_t&) noexcept {
  try {
    return operator new(bytes);
  } catch (const std::bad_alloc&) {
    return nullptr;
  }
}

void operator delete(void* place) noexcept {
  if (place != nullptr && has_ceiling()) used_bytes.fetch_sub(size_of(place), std::memory_order_relaxed);
  std::free(place);
}

void operator delete(void* place, std::size_t) noexcept { operator delete(place); }
