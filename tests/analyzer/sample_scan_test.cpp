#include "analyzer/pulse/sample_scan.hpp"

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <random>
#include <vector>

#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/plateau.hpp"
#include "analyzer/pulse/pulse.hpp"

using namespace pulsewright::analyzer;

namespace {

// Two states of random lengths, a few to thousands of samples, with slopes between them, noise and a converter's rail above: long
// and short plateaus, so that some blocks hold many edges and some none.
std::vector<float> random_pulses(std::size_t size, unsigned seed) {
  std::mt19937 generator(seed);
  std::normal_distribution<float> noise(0, 0.1f);
  std::uniform_int_distribution<int> scale(1, 8), length(1, 12);
  std::vector<float> values;
  for (float state = 0, at = 0; values.size() < size; state = 5 - state) {
    int left = length(generator) << scale(generator);
    for (; left > 0 && values.size() < size; --left) {
      at += 0.3f * (state - at);
      values.push_back(std::min(at + noise(generator), 5.1f));
    }
  }
  return values;
}

struct Case {
  std::vector<float> values;
  std::vector<Extremes> blocks;
  explicit Case(std::size_t size, unsigned seed) : values(random_pulses(size, seed)), blocks(block_extremes(values)) {}
  BlockedValues plain() const { return {.values = values, .blocks = {}}; }
  BlockedValues blocked() const { return {.values = values, .blocks = blocks}; }
};

// One value up to several blocks with a short one at the end; the last on two threads.
const std::size_t sizes[] = {1, 63, 64, 65, 1000, 20'011, 1'200'003};

bool operator==(const Passage& a, const Passage& b) { return a.first_in == b.first_in && a.last_out == b.last_out && a.up == b.up; }

}  // namespace

BOOST_AUTO_TEST_SUITE(sample_scan)

BOOST_AUTO_TEST_CASE(extremes_of_blocks_are_those_of_their_values) {
  for (const auto size : sizes) BOOST_TEST_CONTEXT(size) {
      const Case c(size, 1);
      BOOST_TEST_REQUIRE(c.blocks.size() == (size + 63) / 64);
      for (std::size_t b = 0; b < c.blocks.size(); ++b) {
        const auto begin = c.values.begin() + static_cast<std::ptrdiff_t>(64 * b), end = c.values.begin() + static_cast<std::ptrdiff_t>(std::min(size, 64 * b + 64));
        BOOST_TEST_REQUIRE(c.blocks[b].low == *std::min_element(begin, end));
        BOOST_TEST_REQUIRE(c.blocks[b].high == *std::max_element(begin, end));
      }
    }
}

BOOST_AUTO_TEST_CASE(extremes_are_the_same_with_blocks_as_without) {
  std::mt19937 generator(2);
  for (const auto size : sizes) BOOST_TEST_CONTEXT(size) {
      const Case c(size, 3);
      const auto [low, high] = std::minmax_element(c.values.begin(), c.values.end());
      for (const auto& all : {extremes_of(c.plain()), extremes_of(c.blocked())}) BOOST_TEST((all.low == *low && all.high == *high));
      for (int k = 0; k < 100; ++k) {
        const std::size_t from = generator() % size, to = from + 1 + generator() % (size - from);
        const auto [least, most] = std::minmax_element(c.values.begin() + static_cast<std::ptrdiff_t>(from), c.values.begin() + static_cast<std::ptrdiff_t>(to));
        const auto plain = extremes_of(c.plain(), from, to), blocked = extremes_of(c.blocked(), from, to);
        BOOST_TEST((plain.low == *least && plain.high == *most && blocked.low == *least && blocked.high == *most));
      }
    }
}

BOOST_AUTO_TEST_CASE(searches_find_the_same_with_blocks_as_without) {
  std::mt19937 generator(4);
  std::uniform_real_distribution<float> limits(-0.4f, 5.4f);
  for (const auto size : sizes) BOOST_TEST_CONTEXT(size) {
      const Case c(size, 5);
      for (int k = 0; k < 300; ++k) {
        const std::size_t from = generator() % size, to = from + generator() % (size + 1 - from);
        const float limit = k % 3 == 0 ? c.values[generator() % size] : limits(generator);
        const auto at = [&](auto matches) {
          return static_cast<std::size_t>(std::find_if(c.values.begin() + static_cast<std::ptrdiff_t>(from), c.values.begin() + static_cast<std::ptrdiff_t>(to), matches) - c.values.begin());
        };
        const std::size_t above = at([=](float v) { return v > limit; }), below = at([=](float v) { return v < limit; });
        BOOST_TEST(first_above(c.plain(), from, to, limit) == above);
        BOOST_TEST(first_above(c.blocked(), from, to, limit) == above);
        BOOST_TEST(first_below(c.plain(), from, to, limit) == below);
        BOOST_TEST(first_below(c.blocked(), from, to, limit) == below);
      }
    }
}

BOOST_AUTO_TEST_CASE(runs_and_passages_are_the_same_with_blocks_as_without) {
  for (const auto size : sizes) BOOST_TEST_CONTEXT(size) {
      const Case c(size, 6);
      for (const float level : {5.1f, 5.0f, 2.5f, 0.0f, 9.0f})
        for (const std::size_t least : {std::size_t{1}, std::size_t{3}})
          BOOST_TEST(count_in_runs(c.blocked(), level, 0.05f, least) == count_in_runs(c.plain(), level, 0.05f, least));
      for (const float band : {0.2f, 1.5f}) {
        const auto plain = passages_of(c.plain(), 2.5f - band, 2.5f + band), blocked = passages_of(c.blocked(), 2.5f - band, 2.5f + band);
        BOOST_TEST((size < 20000 || plain.size() > size / 2000));
        BOOST_TEST_REQUIRE(blocked.size() == plain.size());
        for (std::size_t i = 0; i < plain.size(); ++i) BOOST_TEST_REQUIRE((blocked[i] == plain[i]));
      }
    }
}

// Vectors add in another order: the same but for what rounding leaves of at most some thousand additions.
BOOST_AUTO_TEST_CASE(quarters_of_a_plateau_are_their_plain_means) {
  const Case c(20'011, 7);
  const SampleView samples{.values = c.values, .scale = 1.7, .offset = -0.3, .sample_interval_s = 1e-8};
  std::size_t uneven = 0;
  for (const auto& p : plateaus_of(samples, passages_of(c.blocked(), 1, 4))) {
    if (p.used < 4) continue;
    const std::size_t end = p.last - (p.last == samples.size() ? 0 : std::max<std::size_t>(1, p.length() / 10)), begin = end - p.used;
    double all = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const std::size_t from = begin + k * p.used / 4, to = begin + (k + 1) * p.used / 4;
      double sum = 0;
      for (std::size_t i = from; i < to; ++i) sum += samples[i];
      BOOST_TEST(std::abs(p.quarter_v[k] - sum / static_cast<double>(to - from)) < 1e-13);
      all += sum;
    }
    BOOST_TEST(std::abs(p.value_v - all / static_cast<double>(p.used)) < 1e-13);
    uneven += p.used % 4 != 0;
  }
  BOOST_TEST(uneven > 10u);
}

// The largest wander may stand in the part of either thread.
BOOST_AUTO_TEST_CASE(wander_at_rest_is_seen_in_any_pause) {
  constexpr std::size_t bits = 20, bit = 12, pause = 4000, frames = 40;
  for (const std::size_t odd : {std::size_t{0}, frames / 2, frames - 1}) BOOST_TEST_CONTEXT(odd) {
      std::vector<float> values;
      for (std::size_t frame = 0; frame < frames; ++frame) {
        for (std::size_t i = 0; i < bits * bit; ++i) values.push_back(i % bit < bit / 2 ? 5.0f : 0.0f);
        for (std::size_t i = 0; i < pause; ++i) values.push_back(frame == odd && i > pause * 5 / 8 ? 0.4f : 0.0f);
      }
      const SampleView samples{.values = values, .sample_interval_s = 1e-7};
      auto states = measure_states(samples);
      measure_plateaus(samples, find_transitions(samples, states.levels, 1.5, 3.5), states, states.levels);
      BOOST_TEST_REQUIRE(states.levels.low_rest_wander_v.value.has_value());
      BOOST_TEST(*states.levels.low_rest_wander_v == 0.4, boost::test_tools::tolerance(0.02));
    }
}

BOOST_AUTO_TEST_SUITE_END()
