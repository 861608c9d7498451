#pragma once
// Work shared between threads.

#include <cstddef>
#include <functional>

namespace pulsewright::importers {

/// `wanted`, or as many threads as the machine has where that is 0; never more than 64.
std::size_t thread_count(unsigned wanted = 0);

/// Calls `work(index)` once for each index of [0, count), in any order, on at most `threads` threads. What `work` throws
/// first is thrown here, after all threads have ended.
void for_each_index(std::size_t count, std::size_t threads, const std::function<void(std::size_t index)>& work);

}  // namespace pulsewright::importers
