#include "reports/cli/progress.hpp"

#include <chrono>
#include <cmath>
#include <cstdio>

#include "reports/cli/terminal.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

Progress::Progress() {
  if (standard_error_is_terminal()) thread_ = std::thread([this] { show(); });
}

Progress::~Progress() {
  if (!thread_.joinable()) return;
  {
    const std::lock_guard lock(mutex_);
    done_ = true;
  }
  ended_.notify_one();
  thread_.join();
  if (shown_) std::fputs("\r\x1b[K", stderr);
}

void Progress::begin(const std::string& what) {
  const std::lock_guard lock(mutex_);
  what_ = reports::one_line(what, 60);
  fraction_ = 0;
}

std::function<void(double)> Progress::fraction() {
  return [this](double part) { fraction_ = part; };
}

void Progress::show() {
  using namespace std::chrono_literals;
  std::unique_lock lock(mutex_);
  if (ended_.wait_for(lock, 1s, [this] { return done_; })) return;
  do {
    shown_ = true;
    const int percent = static_cast<int>(std::lround(fraction_ * 100));
    if (percent > 0)
      std::fprintf(stderr, "\r\x1b[K%s, %d %%", what_.c_str(), percent);
    else
      std::fprintf(stderr, "\r\x1b[K%s", what_.c_str());
    std::fflush(stderr);
  } while (!ended_.wait_for(lock, 200ms, [this] { return done_; }));
}

}  // namespace pulsewright::cli
