// Work shared between threads: every index once, in the caller's order; failures reach the caller.

#include "importers/parallel.hpp"

#include <atomic>
#include <boost/test/unit_test.hpp>
#include <chrono>
#include <mutex>
#include <numeric>
#include <set>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

using namespace pulsewright::importers;

BOOST_AUTO_TEST_SUITE(parallel)

BOOST_AUTO_TEST_CASE(each_index_is_worked_on_once) {
  for (const std::size_t threads : {0, 1, 2, 5}) {
    std::vector<std::atomic<int>> calls(1000);
    for_each_index(calls.size(), threads, [&](std::size_t i) { ++calls[i]; });
    for (const auto& count : calls) BOOST_TEST_REQUIRE(count == 1);
  }
}

BOOST_AUTO_TEST_CASE(without_work_nothing_is_called) {
  for_each_index(0, 4, [](std::size_t) { BOOST_ERROR("nothing to do"); });
}

BOOST_AUTO_TEST_CASE(no_more_threads_than_work) {
  std::mutex mutex;
  std::set<std::thread::id> threads;
  for_each_index(3, 50, [&](std::size_t) {
    const std::scoped_lock lock(mutex);
    threads.insert(std::this_thread::get_id());
  });
  BOOST_TEST(threads.size() <= 3u);
}

BOOST_AUTO_TEST_CASE(one_thread_is_the_caller_and_goes_in_order) {
  std::vector<std::size_t> order, expected(20);
  std::iota(expected.begin(), expected.end(), std::size_t{0});
  for_each_index(expected.size(), 1, [&](std::size_t i) { order.push_back(i); });
  BOOST_TEST(order == expected, boost::test_tools::per_element());
}

BOOST_AUTO_TEST_CASE(a_failure_stops_the_work_and_reaches_the_caller) {
  std::atomic<std::size_t> calls = 0;
  const auto fail_at_three = [&](std::size_t i) {
    ++calls;
    if (i == 3) throw std::runtime_error("third");
  };
  const auto is_ours = [](const std::runtime_error& error) { return std::string(error.what()) == "third"; };
  BOOST_CHECK_EXCEPTION(for_each_index(1000, 1, fail_at_three), std::runtime_error, is_ours);
  BOOST_TEST(calls == 4U);
  BOOST_CHECK_EXCEPTION(for_each_index(1000, 3, fail_at_three), std::runtime_error, is_ours);
  const auto fail = [](std::size_t) { throw std::runtime_error("third"); };
  BOOST_CHECK_EXCEPTION(for_each_index(8, 8, fail), std::runtime_error, is_ours);  // several at once: one of them
}

BOOST_AUTO_TEST_CASE(a_failure_of_another_thread_waits_for_work_under_way) {
  std::atomic<bool> started = false, ended = false;
  const auto work = [&](std::size_t i) {
    if (i == 0) {
      started = true;
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
      ended = true;
      return;
    }
    while (!started) std::this_thread::yield();
    throw std::runtime_error("meanwhile");
  };
  BOOST_CHECK_THROW(for_each_index(2, 2, work), std::runtime_error);
  BOOST_TEST(ended.load());
}

BOOST_AUTO_TEST_CASE(threads_are_as_wished_within_reason) {
  BOOST_TEST(thread_count(3) == 3U);
  BOOST_TEST(thread_count(1000) == 64U);
  BOOST_TEST(thread_count() >= 1U);
}

BOOST_AUTO_TEST_SUITE_END()
