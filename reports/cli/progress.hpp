#pragma once
// A line on standard error for what takes long.

#include <atomic>
#include <condition_variable>
#include <functional>
#include <mutex>
#include <string>
#include <thread>

namespace pulsewright::cli {

/// Shows what is being done, from one second on, on a terminal only; gone without a trace when destroyed.
class Progress {
 public:
  Progress();
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void begin(const std::string& what);  ///< "reading far-end.csv"
  /// Takes the fraction done; may be called from any thread while this object lives.
  std::function<void(double)> fraction();

 private:
  void show();

  std::mutex mutex_;
  std::condition_variable ended_;
  bool done_ = false, shown_ = false;
  std::string what_;
  std::atomic<double> fraction_{0};
  std::thread thread_;
};

}  // namespace pulsewright::cli
