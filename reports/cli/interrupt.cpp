#include "reports/cli/interrupt.hpp"

#include <atomic>
#include <csignal>

namespace pulsewright::cli {

namespace {

// A handler may run in any thread (on Windows in one of its own): lock-free atomics are safe there.
std::atomic<bool> came{false};
static_assert(std::atomic<bool>::is_always_lock_free);

extern "C" void remember(int signal) {
  came = true;
  std::signal(signal, SIG_DFL);
}

}  // namespace

Interrupt::Interrupt() {
  came = false;
  std::signal(SIGINT, remember);
  std::signal(SIGTERM, remember);
}

Interrupt::~Interrupt() {
  std::signal(SIGINT, SIG_DFL);
  std::signal(SIGTERM, SIG_DFL);
}

bool Interrupt::asked() const { return came; }

}  // namespace pulsewright::cli
