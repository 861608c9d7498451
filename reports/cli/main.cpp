#include <cstdlib>
#ifdef __GLIBC__
#include <malloc.h>
#endif

#include "reports/cli/run.hpp"

namespace {

/// Buffers of the line fit come and go by the thousand: memory that goes back to the system each time is cleared each time anew.
void keep_freed_memory() {
#ifdef __GLIBC__
  mallopt(M_TRIM_THRESHOLD, 32 << 20);
  mallopt(M_MMAP_THRESHOLD, 1 << 20);
#endif
}

}  // namespace

int main(int argc, char** argv) {
  keep_freed_memory();
  return pulsewright::cli::run({argv + (argc > 0 ? 1 : 0), argv + argc});
}
