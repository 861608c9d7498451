#pragma once

#include <mutex>

namespace pulsewright::analyzer {

/// Held while a plan of FFTW is made or destroyed: its planner serves one thread at a time (FFTW manual 3.3.10, "Thread
/// safety"). Executing a plan needs no lock.
inline std::mutex& fftw_planner() {
  static std::mutex mutex;
  return mutex;
}

}  // namespace pulsewright::analyzer
