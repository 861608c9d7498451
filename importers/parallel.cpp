#include "importers/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <system_error>
#include <thread>
#include <vector>

namespace pulsewright::importers {

std::size_t thread_count(unsigned wanted) {
  return std::clamp(wanted != 0 ? wanted : std::thread::hardware_concurrency(), 1u, 64u);
}

void for_each_index(std::size_t count, std::size_t threads, const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  std::exception_ptr failure;  // an exception may not leave the other threads
  std::mutex mutex;
  const auto take_turns = [&] {
    try {
      for (std::size_t i = next++; i < count; i = next++) work(i);
    } catch (...) {
      const std::scoped_lock lock(mutex);
      if (!failure) failure = std::current_exception();
      next = count;
    }
  };
  {
    std::vector<std::jthread> others;
    try {
      for (std::size_t i = 1; i < std::min(count, threads); ++i) others.emplace_back(take_turns);
    } catch (const std::system_error&) {
      // The system gives no more threads: those there are do the work.
    }
    take_turns();
  }
  if (failure) std::rethrow_exception(failure);
}

}  // namespace pulsewright::importers
