// Rows read four at a time: every number of every length is the float that strtof makes of its text, and no byte that is otherwise
// than in the rows before goes unseen. Invented exports.

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdio>
#include <optional>
#include <random>
#include <regex>
#include <string>
#include <vector>

#include "importers/text/four_rows.hpp"
#include "tests/importers/text_support.hpp"

using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

namespace {

template <class... Arguments>
std::string print(const char* form, Arguments... arguments) {
  char text[96];
  std::snprintf(text, sizeof text, form, arguments...);
  return text;
}

std::string time_cell(int row) { return print("%.9f", row * 4e-9); }

/// The value cells as an export with times, without them, and with quotes around every number.
std::vector<std::string> exports_of(const std::vector<std::string>& cells, const char* line_end) {
  std::vector<std::string> exports{"Time (s),CH1 (V)\n", "# sample interval: 4 ns\nCH1 (V)\n", "\"Time (s)\",\"CH1 (V)\"\n"};
  for (std::size_t i = 0; i < cells.size(); ++i) {
    exports[0] += time_cell(static_cast<int>(i)) + "," + cells[i] + line_end;
    exports[1] += cells[i] + line_end;
    exports[2] += "\"" + time_cell(static_cast<int>(i)) + "\",\"" + cells[i] + "\"" + line_end;
  }
  return exports;
}

void check_values(const std::vector<std::string>& cells, const char* line_end = "\n") {
  for (const std::string& text : exports_of(cells, line_end)) {
    BOOST_TEST_INFO_SCOPE(text.substr(0, 120));
    const auto capture = read_text(text);
    const auto& values = capture.channels.at(0).values;
    BOOST_TEST_REQUIRE(values.size() == cells.size());
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const float nearest = std::strtof(cells[i].c_str(), nullptr);
      BOOST_TEST_REQUIRE((values[i] == nearest && std::signbit(values[i]) == std::signbit(nearest)), "row " << i << ", " << cells[i] << ": " << values[i]);
    }
  }
}

/// What a cell says, blanks around it and beside the letter of its exponent aside; nothing where it is no plain number.
std::optional<float> number_in(const std::string& cell) {
  static const std::regex plain(" *([+-]?([0-9]+(\\.[0-9]*)?|\\.[0-9]+)( ?[eE](?:[+-]| )?[0-9]+)?) *");
  if (!std::regex_match(cell, plain)) return {};
  std::string number = cell;
  std::erase(number, ' ');
  return std::strtof(number.c_str(), nullptr);
}

/// Puts every other byte in the place of every byte of `cells[row]`, for four rows that follow each other.
void check_every_byte(const std::vector<std::string>& cells) {
  std::size_t read = 0, refused = 0;
  for (std::size_t row = 40; row < 44; ++row)
    for (std::size_t at = 0; at < cells[row].size(); ++at)
      for (const char other : std::string("059 +-.eEqx:/'\xb0")) {
        auto changed = cells;
        changed[row][at] = other;
        const auto expected = number_in(changed[row]);
        const std::string text = exports_of(changed, "\n")[0];
        BOOST_TEST_INFO_SCOPE("row " << row << ": " << changed[row]);
        if (expected && std::isfinite(*expected) && std::abs(*expected) < 1e30f) {
          const auto capture = read_text(text);
          BOOST_TEST_REQUIRE(capture.samples == cells.size());
          BOOST_TEST(capture.channels.at(0).values[row] == *expected);
          BOOST_TEST(capture.channels.at(0).values[row + 1] == std::strtof(cells[row + 1].c_str(), nullptr));
          ++read;
        } else if (!expected) {
          BOOST_TEST(refusal(text).starts_with("t.csv:" + std::to_string(row + 2) + ": expected a "), refusal(text));
          ++refused;
        }
      }
  BOOST_TEST(read > 100u);
  BOOST_TEST(refused > 100u);
}

}  // namespace

BOOST_AUTO_TEST_SUITE(four_rows)

BOOST_AUTO_TEST_CASE(fixed_numbers_of_every_length) {
  std::mt19937 generator(7);
  for (int decimals = 1; decimals <= 6; ++decimals)
    for (int whole = 1; whole + decimals <= 7; ++whole) {
      std::uniform_int_distribution<int> digits(0, static_cast<int>(std::pow(10, whole + decimals)) - 1), sign(0, 3);
      std::vector<std::string> cells;
      for (int i = 0; i < 300; ++i) {
        const int number = digits(generator), unit = static_cast<int>(std::pow(10, decimals));
        cells.push_back((sign(generator) == 0 ? "-" : "") + print("%0*d.%0*d", i % 7 == 0 ? 1 : whole, number / unit, decimals, number % unit));
      }
      check_values(cells, decimals % 2 == 0 ? "\n" : "\r\n");
    }
}

BOOST_AUTO_TEST_CASE(scientific_numbers_of_every_length) {
  std::mt19937 generator(8);
  for (int decimals = 0; decimals <= 6; ++decimals)
    for (const char* mark : {"e", "E"}) {
      std::uniform_int_distribution<int> digits(0, static_cast<int>(std::pow(10, decimals)) - 1), first(0, 9), exponent(-12, 12), sign(0, 3);
      std::vector<std::string> cells;
      for (int i = 0; i < 300; ++i) {
        const int power = i % 5 == 0 ? exponent(generator) : -(i % 3);
        cells.push_back((sign(generator) == 0 ? "-" : "") + print("%d.", first(generator)) + (decimals > 0 ? print("%0*d", decimals, digits(generator)) : "") + mark +
                        print("%+03d", power));
      }
      check_values(cells, decimals % 2 == 0 ? "\n" : "\r\n");
    }
}

BOOST_AUTO_TEST_CASE(signs_before_every_number) {
  std::vector<std::string> fixed, scientific;
  for (int i = 0; i < 400; ++i) fixed.push_back(print("%+.4f", (i % 9 - 4) * 0.8123)), scientific.push_back(print("%+.5e", (i % 9 - 4) * 0.8123));
  check_values(fixed);
  check_values(scientific);
}

// As a ramp in millivolts has them: one digit more from 10.0 on.
BOOST_AUTO_TEST_CASE(digits_that_become_more_and_fewer) {
  std::vector<std::string> cells;
  for (int i = 0; i < 4000; ++i) cells.push_back(print("%.2f", 1200 * std::sin(i * 0.01) * std::sin(i * 0.37)));
  check_values(cells);
}

BOOST_AUTO_TEST_CASE(no_other_byte_in_a_value_goes_unseen) {
  std::vector<std::string> fixed, scientific, negative;
  for (int i = 0; i < 100; ++i) {
    fixed.push_back(print("%.4f", 3.3 - i * 0.0123));
    scientific.push_back(print("%.4e", 3.3 - i * 0.0123));
    negative.push_back(print("%.3e", -0.01 * (i + 1)));
  }
  check_every_byte(fixed);
  check_every_byte(scientific);
  check_every_byte(negative);
}

// A time that is not the one expected ends the even record, or is no time at all: it is never taken for the one expected.
BOOST_AUTO_TEST_CASE(no_other_byte_in_a_time_goes_unseen) {
  constexpr int rows = 100;
  const auto text_with = [](int row, const std::string& time) {
    std::string text = "Time (s),CH1 (V)\n";
    for (int i = 0; i < rows; ++i) text += (i == row ? time : time_cell(i)) + print(",%.4f\n", 3.3 - i * 0.0123);
    return text;
  };
  int seen = 0;
  for (int row = 40; row < 44; ++row) {
    for (std::size_t at = 0; at < time_cell(row).size(); ++at)
      for (const char other : std::string("159-:eq")) {
        std::string time = time_cell(row);
        if (time[at] == other) continue;
        time[at] = other;
        const double moved_s = std::abs(std::strtod(time.c_str(), nullptr) - row * 4e-9);
        if (number_in(time) && moved_s < 2e-9) continue;  // half an interval: jitter of the last digit
        BOOST_TEST_INFO_SCOPE("row " << row << ": " << time);
        std::string told = refusal(text_with(row, time));
        if (told.empty()) {
          const auto capture = read_text(text_with(row, time));
          BOOST_TEST((capture.records > 1 || capture.samples != rows || !capture.notes.empty()));
        }
        ++seen;
      }
  }
  BOOST_TEST(seen > 200);
}

// The bytes that stand for no ending are no way around the rest: between fifty good rows and fifty more, a number behind a byte that is
// no sign, with such bytes behind it.
BOOST_AUTO_TEST_CASE(a_byte_that_is_no_sign_never_passes) {
  for (const char* form : {"%.4f", "%.4e"})
    for (const std::string& behind : {std::string("\xff"), std::string(8, '\xff')}) {
      std::string text = "Time (s),CH1 (V)\n";
      for (int i = 0; i < 100; ++i) text += time_cell(i) + "," + (i == 50 ? "*" : "") + print(form, 3.3) + (i == 50 ? behind : "\n");
      BOOST_TEST_INFO_SCOPE(form << ", " << behind.size() << " bytes");
      BOOST_TEST(!refusal(text).empty());
    }
}

// The digits that come next are those of a time long before: what stands there is another record.
BOOST_AUTO_TEST_CASE(a_time_that_wraps_to_zero_starts_another_record) {
  constexpr int rows = 160;
  for (int ticks_before = 97; ticks_before < 105; ++ticks_before) {
    std::string up = "Time (s),CH1 (V)\n", from_below = up;
    for (int i = 0; i < rows; ++i) {
      const int ticks = i - ticks_before;
      up += print("%08.3f,%.4f\n", (ticks + (ticks < 0 ? 10000 : 0)) * 1.0, 3.3 - i * 0.01);
      from_below += print("-%08.3f,%.4f\n", (ticks <= 0 ? -ticks : 10000 - ticks) * 1.0, 3.3 - i * 0.01);
    }
    BOOST_TEST_INFO_SCOPE(ticks_before << " rows before it wraps");
    const auto rising = read_text(up), falling = read_text(from_below);
    BOOST_TEST(rising.records == 2u);
    BOOST_TEST(rising.samples == static_cast<std::size_t>(ticks_before));
    BOOST_TEST(falling.records == 2u);
    BOOST_TEST(falling.samples == static_cast<std::size_t>(ticks_before + 1));
  }
}

#ifdef __SSE2__
BOOST_AUTO_TEST_CASE(all_rows_of_the_usual_forms_are_taken) {
  using namespace pulsewright::importers::text;
  constexpr std::size_t rows = 400, left_over = 20;  // a row of 64 bytes has to be readable behind the last four
  for (const std::string form : {"%.9f,%.4f\n", "%.9f,%+.4f\n", "%.8e,%.4e\n", "%.8e,%+.4e\n", "-%.9f,%.4f\n", "%08.3f,%.4f\n", "-%08.3f,%.4f\n"}) {
    BOOST_TEST_INFO_SCOPE(form);
    const double step_s = form.find(".3f") != std::string::npos ? 2 : 4e-9;  // the point among the digits that change
    std::string text(64, ' ');
    const bool falls = form.starts_with('-');
    for (std::size_t i = 0; i < rows; ++i) text += print(form.c_str(), 0.1 + step_s * static_cast<double>(falls ? rows - i : i), 1.1 - 0.01 * static_cast<double>(i % 300));
    const char *p = text.data() + 64, *const stop = text.data() + text.size() - 64;
    RunningTimes times(1, '.');
    std::vector<TimeRun> runs;
    times.begin_block(text.data(), runs);
    for (int i = 0; i < 2; ++i) {
      BOOST_TEST_REQUIRE(times.take(p) != nullptr);
      p = text.data() + text.find('\n', static_cast<std::size_t>(p - text.data())) + 1;
    }
    FourRows four(value_form(std::string_view(text).substr(64), 1, Grid{}), '.', Literal(), Literal(","), Literal("\n"));
    BOOST_TEST_REQUIRE(four.usable());
    four.learn_whole_digits(text.data() + text.find(',', 64) + 1);
    std::vector<float> values(rows);
    const auto taken = four.take<true>(p, stop, times.expected(), values.data());
    BOOST_TEST(taken > rows - left_over);
    BOOST_TEST(times.expected().known());
    BOOST_TEST(times.expected().matches(p));
  }
}
#endif

BOOST_AUTO_TEST_SUITE_END()
