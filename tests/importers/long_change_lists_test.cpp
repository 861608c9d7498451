// Lists of changes over many blocks of a file, from any number of threads: every change exact, what is wrong named where it is.

#include <boost/test/unit_test.hpp>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "tests/importers/text_support.hpp"

using namespace pulsewright::importers;
using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

namespace {

constexpr int rows = 60'000;

/// A list of invented changes of two lines, and what must come of it.
struct List {
  std::string text = "Time [s],clk,data\n";
  std::vector<std::pair<double, bool>> lines[2];
  std::vector<std::size_t> row_begins;
};

List list(const char* row, const char* unusual_row) {
  std::mt19937 random(3);
  List made;
  bool level[2] = {false, true};
  long long time_ns = -12'345;
  for (int i = 0; i < rows; ++i) {
    made.row_begins.push_back(made.text.size());
    char line[96];
    std::snprintf(line, sizeof line, i % 1000 == 777 ? unusual_row : row, static_cast<double>(time_ns) * 1e-9, int{level[0]}, int{level[1]});
    made.text += line;
    const double printed = std::strtod(line, nullptr);  // correctly rounded by the C library
    for (const int n : {0, 1})
      if (made.lines[n].empty() || made.lines[n].back().second != level[n]) made.lines[n].emplace_back(printed, level[n]);
    time_ns += 83 + static_cast<long long>(random() % 900);
    level[random() % 2] ^= true;
  }
  return made;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(long_change_lists)

BOOST_AUTO_TEST_CASE(every_change_comes_back_exactly) {
  for (const char* row : {"%.9f,%d,%d\n", "%.10e,%d,%d\r\n", "%.12g,%d,%d\n"}) {
    const List made = list(row, "%.9f , %d,%d,\n");
    for (const unsigned threads : {1u, 2u, 3u})
      BOOST_TEST_CONTEXT(row << threads << " threads") {
        const Capture capture = read_text(made.text, {.threads = threads});
        BOOST_TEST(capture.samples == static_cast<std::size_t>(rows));
        BOOST_TEST_REQUIRE(capture.channels.size() == 2u);
        for (const std::size_t n : {0u, 1u}) {
          const auto& changes = capture.channels[n].changes;
          BOOST_TEST_REQUIRE(changes.size() == made.lines[n].size());
          std::size_t exact = 0;
          for (std::size_t i = 0; i < changes.size(); ++i) exact += changes[i].time_s == made.lines[n][i].first && changes[i].high == made.lines[n][i].second;
          BOOST_TEST(exact == changes.size());
        }
      }
  }
}

BOOST_AUTO_TEST_CASE(what_is_wrong_far_into_the_file_is_named) {
  const List made = list("%.9f,%d,%d\n", "%.9f,%d,%d\n");
  const std::size_t row = 50'000, at = made.row_begins[row], length = made.row_begins[row + 1] - at;
  const std::string line = "t.csv:" + std::to_string(row + 2), good = made.text.substr(at, length);
  const auto spoilt = [&](const std::string& instead) {
    std::string text = made.text;
    return refusal(text.replace(at, length, instead), {.threads = 2});
  };
  BOOST_TEST(spoilt("0.000500000,1,0\n").starts_with(line + ": expected times that rise in column 1, found time running backwards by 0.0"));
  BOOST_TEST(spoilt("0.0x,1,0\n") == line + ": expected a time in column 1, found \"0.0x\"");
  BOOST_TEST(spoilt(good.substr(0, good.size() - 2) + "L\n") == line + ": expected a logic level in column 3, found \"L\"");
  BOOST_TEST(spoilt(good.substr(0, good.size() - 1) + ",1\n") == line + ": expected the end of the row in column 4, found \"1\"");
}

BOOST_AUTO_TEST_CASE(two_lists_in_one_file_are_two_records) {
  const List made = list("%.9f,%d,%d\n", "%.9f,%d,%d\n");
  const std::string twice = made.text + made.text.substr(made.row_begins.front());
  for (const std::size_t record : {1u, 2u}) {
    const Capture capture = read_text(twice, {.record = record, .threads = 2});
    BOOST_TEST(capture.records == 2u);
    BOOST_TEST(capture.samples == static_cast<std::size_t>(rows));
    BOOST_TEST(capture.channels.at(1).changes.size() == made.lines[1].size());
    BOOST_TEST(capture.channels[1].changes.back().time_s == made.lines[1].back().first);
  }
}

BOOST_AUTO_TEST_CASE(two_values_at_uneven_times_are_a_list_too) {
  std::string text = "Time (s),A (V)\n";
  for (int i = 0; i < 30'000; ++i) text += std::to_string(1000 + i * 7 + i % 3) + "e-8," + (i % 2 == 0 ? "0.00" : "5.00") + "\n";
  const Capture capture = read_text(text, {.threads = 2});
  BOOST_TEST((capture.channels.at(0).kind == ChannelKind::logic));
  BOOST_TEST(capture.channels[0].changes.size() == 30'000u);
  BOOST_TEST(capture.channels[0].changes[20'001].high);
}

BOOST_AUTO_TEST_SUITE_END()
