// Rows of uncommon forms, enough of them for every quick way: each sample is the number as printed, rows that are spelled
// another way between them are read too, and a broken cell is told as exactly as anywhere. Invented exports.

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdio>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "tests/importers/text_support.hpp"

using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

namespace {

constexpr int rows = 30000;
constexpr double interval_s = 4e-9;

/// Tenths of a millivolt.
int level(int row) { return row % 50 < 20 ? 33000 - row % 7 * 11 : 40 - row % 11 * 13; }

template <class... Arguments>
std::string print(const char* form, Arguments... arguments) {
  char text[160];
  std::snprintf(text, sizeof text, form, arguments...);
  return text;
}

double seconds(int row) { return row * interval_s; }
double volts(int row) { return level(row) * 1e-4; }
float printed(int row) { return std::strtof(print("%.4f", volts(row)).c_str(), nullptr); }

std::string with_decimal_commas(std::string text) {
  for (char& c : text)
    if (c == '.') c = ',';
  return text;
}

struct Form {
  const char* name;
  std::string head;
  std::function<std::string(int)> row;
  std::function<std::string(int)> other = {};  ///< the same row spelled another way
};

const std::vector<Form>& forms() {
  static const std::vector<Form> all{
      {"blank behind the comma", "Time (s), CH1 (V)\n", [](int i) { return print("%.9f, %.4f\n", seconds(i), volts(i)); },
       [](int i) { return print("%.9f,%.4f\n", seconds(i), volts(i)); }},
      {"blanks before and behind", "Time (s) , CH1 (V)\n", [](int i) { return print(" %.9f , %.4f \r\n", seconds(i), volts(i)); },
       [](int i) { return print("%.9f\t,\t%.4f\n", seconds(i), volts(i)); }},
      {"quotes", "\"Time (s)\",\"CH1 (V)\"\n", [](int i) { return print("\"%.9f\",\"%.4f\"\n", seconds(i), volts(i)); },
       [](int i) { return print("%.9f, \"%.4f\" \n", seconds(i), volts(i)); }},
      {"one column in quotes", "Time (s),CH1 (V)\n", [](int i) { return print("%.9f,\"%.4f\"\r\n", seconds(i), volts(i)); },
       [](int i) { return print("\"%.9f\",%.4e\r\n", seconds(i), volts(i)); }},
      {"quotes around decimal commas", "Time (s),CH1 (V)\n", [](int i) { return with_decimal_commas(print("\"%.9f\"", seconds(i))) + "," + with_decimal_commas(print("\"%.4f\"\n", volts(i))); }},
      {"aligned columns", "   Time        CH1\n      s          V\n", [](int i) { return print("%14.9f %10.4f\n", seconds(i), volts(i)); },
       [](int i) { return print("%.9f\t%.4f \n", seconds(i), volts(i)); }},
      {"semicolons and decimal commas", "Time (s);CH1 (V)\n", [](int i) { return with_decimal_commas(print("%.9f; %.4f\n", seconds(i), volts(i))); },
       [](int i) { return with_decimal_commas(print("%.9f;%+.4e;\n", seconds(i), volts(i))); }},
      {"other units", "Time (us),CH1 (mV)\n", [](int i) { return print("%.3f,%.1f\n", seconds(i) * 1e6, volts(i) * 1e3); },
       [](int i) { return print("%.3f , %.4e\n", seconds(i) * 1e6, volts(i) * 1e3); }},
      {"columns that are not used", "No,Time (s),CH1 (V),remark\n", [](int i) { return print("%d,%.9f,%.4f,ok\n", i, seconds(i), volts(i)); },
       [](int i) { return print("\"%d\",%.9f,%.4f,\"not, quite\"\n", i, seconds(i), volts(i)); }},
      {"units in the cells", "Time,CH1\n", [](int i) { return print("%.3f us,%.1f mV\n", seconds(i) * 1e6, volts(i) * 1e3); },
       [](int i) { return print("%.0fns,%.4fV\n", seconds(i) * 1e9, volts(i)); }},
      {"date and time", "Time,CH1 (V)\n", [](int i) { return print("2031-05-06T07:08:09.%09.0f,%.4f\n", seconds(i) * 1e9, volts(i)); },
       [](int i) { return print("2031-05-06 07:08:09.%09.0f000, %.4f\n", seconds(i) * 1e9, volts(i)); }},
      {"date, time and zone", "Time,CH1 (V)\n", [](int i) { return print("\"2031-05-06T07:08:09.%09.0f+02:00\",%.4f\n", seconds(i) * 1e9, volts(i)); },
       [](int i) { return print("2031-05-06T05:08:09.%09.0fZ,%.4f\n", seconds(i) * 1e9, volts(i)); }},
      {"time of day across a minute", "Time,CH1 (V)\n", [](int i) {
         const long nanoseconds = 59'999'960'000 + 4L * i;
         return print("07:%02ld:%02ld.%09ld,%.4f\n", 8 + nanoseconds / 60'000'000'000, nanoseconds / 1'000'000'000 % 60, nanoseconds % 1'000'000'000, volts(i));
       }},
      {"seconds since 1970", "Time (s),CH1 (V)\n", [](int i) { return print("1935903000.%09.0f,%.4f\n", seconds(i) * 1e9, volts(i)); },
       [](int i) { return print("+1935903000.%09.0f0,%.4f\n", seconds(i) * 1e9, volts(i)); }},
      {"exponents of three digits", "Time (s),CH1 (V)\n", [](int i) {
         std::string text = print("%.8e,%.5e\n", seconds(i), volts(i));
         for (std::size_t at = 0; (at = text.find('e', at)) != std::string::npos; ++at) text.insert(at + 2, "0");
         return text;
       }},
      {"eighteen decimals", "Time (s),CH1 (V)\n", [](int i) { return print("%.9f000000000,%.4f00000000000000\n", seconds(i), volts(i)); },
       [](int i) { return print("%.9f,%.4f\n", seconds(i), volts(i)); }},
      {"samples alone", "# sample interval: 4 ns\nCH1 (V)\n", [](int i) { return print("\"%.4f\"\n", volts(i)); }, [](int i) { return print("%.4e \n", volts(i)); }},
  };
  return all;
}

std::string text_of(const Form& form, bool mixed) {
  std::string text = form.head;
  for (int i = 0; i < rows; ++i) text += mixed && i > 100 && (i % 97 == 13 || i % 1000 < 5) ? form.other(i) : form.row(i);
  return text;
}

void check_samples(const std::string& text) {
  const auto capture = read_text(text);
  BOOST_TEST_REQUIRE(capture.samples == static_cast<std::size_t>(rows));
  BOOST_TEST(capture.records == 1u);
  BOOST_TEST(std::abs(capture.sample_interval_s - interval_s) < 1e-9 * interval_s);
  const auto& values = capture.channels.at(0).values;
  for (int i = 0; i < rows; ++i) BOOST_TEST_REQUIRE(values[static_cast<std::size_t>(i)] == printed(i), "row " << i);
}

}  // namespace

BOOST_AUTO_TEST_SUITE(quick_rows)

BOOST_AUTO_TEST_CASE(every_sample_is_the_number_as_printed) {
  for (const Form& form : forms()) {
    BOOST_TEST_INFO_SCOPE(form.name);
    check_samples(text_of(form, false));
  }
}

BOOST_AUTO_TEST_CASE(rows_spelled_another_way_are_read_among_the_others) {
  for (const Form& form : forms()) {
    if (!form.other) continue;
    BOOST_TEST_INFO_SCOPE(form.name);
    check_samples(text_of(form, true));
  }
}

BOOST_AUTO_TEST_CASE(a_broken_cell_is_told_with_its_place) {
  constexpr int broken = 20011;  // with a high level
  for (const Form& form : forms()) {
    BOOST_TEST_INFO_SCOPE(form.name);
    std::string text = form.head, line = form.row(broken);
    const auto digit = line.find_last_of("0123456789");
    line[digit] = 'q';
    for (int i = 0; i < rows; ++i) text += i == broken ? line : form.row(i);
    const auto at = ":" + std::to_string(broken + 1 + static_cast<int>(std::count(form.head.begin(), form.head.end(), '\n'))) + ": expected a ";
    const std::string told = refusal(text);
    BOOST_TEST((told.starts_with("t.csv" + at) && told.find("found \"") != std::string::npos && told.find('q') != std::string::npos), told);
  }
}

BOOST_AUTO_TEST_CASE(a_number_too_many_is_told_with_its_place) {
  for (const Form& form : forms()) {
    const std::string_view name = form.name;
    if (name == "columns that are not used" || name == "samples alone") continue;  // room for it; no separator to tell it by
    BOOST_TEST_INFO_SCOPE(form.name);
    std::string text = form.head;
    for (int i = 0; i < rows; ++i) {
      std::string line = form.row(i);
      if (i == 20011) line.insert(line.find_first_of("\r\n"), name == "aligned columns" ? " 7" : form.head.find(';') != std::string::npos ? ";7" : ",7");
      text += line;
    }
    BOOST_TEST(refusal(text).find(": expected the end of the row in column ") != std::string::npos, refusal(text));
  }
}

// What is expected next, in the finer digit of the last row, would be 5e19: beyond 64 bits.
BOOST_AUTO_TEST_CASE(a_finer_digit_behind_times_of_many_digits_is_compared_without_overflow) {
  std::string text = "Time (s),CH1 (V)\n";
  for (int i = 0; i < 5000; ++i) text += print("%d00000000000000,%.4f\n", i, volts(i));
  text += "1.00,3.3000\n2.00,3.3000\n" + std::string(4000, ' ') + "\n";
  BOOST_TEST(refusal(text) == "");
}

// In memory of exactly its size, so that sanitizers see what is read before it.
BOOST_AUTO_TEST_CASE(nothing_is_read_before_a_text_that_starts_with_a_long_number) {
  std::string text = "0.00000000000000000000,1.5000\n";
  for (int i = 1; i < 100; ++i) text += print("%d.0e-06,%.4f\n", i, i % 2 == 0 ? 1.5 : 0.5);
  const std::vector<char> bytes(text.begin(), text.end());
  const auto capture = read_text({bytes.data(), bytes.size()});
  BOOST_TEST(capture.channels.at(0).values.size() == 100u);
}

BOOST_AUTO_TEST_SUITE_END()
