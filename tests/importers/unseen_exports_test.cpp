// Exports of invented instruments: the same eight samples, written in as many ways as numbers, units and headers can be.

#include <boost/test/unit_test.hpp>
#include <cstdio>
#include <string>
#include <vector>

#include "tests/importers/text_support.hpp"

using namespace pulsewright::importers;
using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

namespace {

/// Volts, 100 ns apart.
const std::vector<float> volts{0.04f, 3.28f, 3.3f, 3.26f, -0.02f, 0.06f, 3.32f, 0.04f};

std::string with(const char* format, double value) {
  char text[64];
  std::snprintf(text, sizeof text, format, value);
  return text;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) text.replace(at, from.size(), to);
  return text;
}

/// Header and a row for each sample; `format` has "%t" and "%v" for time and value, printed in these formats and units.
struct Style {
  std::string header, row;
  const char* time = "%.1f";
  double times = 1e6;
  const char* value = "%.2f";
  double values = 1;
};

std::string written(const Style& style) {
  std::string text = style.header;
  for (std::size_t i = 0; i < volts.size(); ++i)
    text += replaced(replaced(style.row, "%t", with(style.time, 1e-7 * static_cast<double>(i) * style.times)), "%v",
                     with(style.value, static_cast<double>(volts[i]) * style.values));
  return text;
}

void check_read(const std::string& text) {
  BOOST_TEST_CONTEXT(text) {
    BOOST_TEST_REQUIRE(refusal(text) == "");
    const Capture capture = read_text(text);
    BOOST_TEST(capture.sample_interval_s == 1e-7, boost::test_tools::tolerance(1e-9));
    BOOST_TEST(capture.start_s == 0);
    BOOST_TEST_REQUIRE(capture.channels.size() >= 1);
    BOOST_TEST(capture.channels[0].values == volts, boost::test_tools::per_element());
  }
}

}  // namespace

BOOST_AUTO_TEST_SUITE(unseen_exports)

BOOST_AUTO_TEST_CASE(units_of_the_columns) {
  for (const std::string unit : {"us", "usec", "µs", "μs", "uS"}) check_read(written({"Time (" + unit + "),CH1 (V)\n", "%t,%v\n"}));
  const std::vector<std::string> headers{"Time us,CH1 mV\n", "\"Time, us\",\"CH1, mV\"\n", "Time - us,CH1 - mV\n", "Time: us,CH1: mV\n", "Time <us>,CH1 <mV>\n",
                                         "Time {us},CH1 {mV}\n", "Microseconds,Millivolts\n", "time_us,CH1_mV\n"};
  for (const auto& header : headers) check_read(written({header, "%t,%v\n", "%.1f", 1e6, "%.0f", 1e3}));
}

BOOST_AUTO_TEST_CASE(a_time_in_no_unit_of_time_is_refused) {
  const std::string expected = "expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 1, found ";
  for (const std::string unit : {"kg", "min", "ticks", "cm", "div", "100 ns", "x1e-6 s", "10^-6 s", "MS", "ms."})
    BOOST_TEST(refusal(written({"Time (" + unit + "),CH1 (V)\n", "%t,%v\n"})) == "t.csv:1: " + expected + "\"" + unit + "\"");
  BOOST_TEST(refusal(written({"Time (V),CH1 (V)\n", "%t,%v\n"})) == "t.csv:1: " + expected + "\"V\"");
  BOOST_TEST(refusal(written({"Time,CH1\nfurlong,Volts\n", "%t,%v\n"})) == "t.csv:2: " + expected + "\"furlong\"");
  ImportOptions rate;
  rate.sample_rate_hz = 1e7;
  const Capture capture = read_text(written({"Time (ticks),CH1 (V)\n", "%t,%v\n"}), rate);
  BOOST_TEST(capture.sample_interval_s == 1e-7);
  BOOST_TEST(capture.samples == volts.size());
  BOOST_TEST(capture.notes.front() == "column 1 is in no unit of time, \"ticks\": not used");
}

BOOST_AUTO_TEST_CASE(millions_of_volts_are_not_believed) {
  const Capture capture = read_text(written({"Time (us),CH1 (MV)\n", "%t,%v\n"}));
  BOOST_TEST(capture.channels[0].values[1] == 3.28f);
  BOOST_TEST(capture.notes.front() == "the unit of CH1 (MV) is not known, \"MV\": taken as volts");
}

BOOST_AUTO_TEST_CASE(spellings_of_numbers) {
  const Style scientific{"Time (s),CH1 (V)\n", "%t,%v\n", "%.3E", 1, "%.4E", 1};
  const std::string header = scientific.header;
  const auto respelled = [&](const std::string& from, const std::string& to) {
    return header + replaced(written(scientific).substr(header.size()), from, to);
  };
  check_read(respelled("E", "D"));
  check_read(respelled("E", "d"));
  check_read(respelled("E", " E"));
  check_read(respelled("E", " E "));
  check_read(respelled("E-0", "E-00"));
  check_read(respelled("-", "\xe2\x88\x92"));
  check_read(written({"Time (us),CH1 (V)\n", "+%t,%v\n"}));
  check_read(written({"Time (us);CH1 (V)\n", "\xc2\xa0%t;\xe2\x80\xaf%v\xc2\xa0\n"}));
  check_read(written({"Time;CH1\n", "%t\xc2\xa0µs;%v V\n"}));
  check_read(written({"Time (us),CH1 (V)\n", "\"%t\",\"%v\"\n"}));
}

BOOST_AUTO_TEST_CASE(two_signs_are_no_number) {
  BOOST_TEST(refusal("Time (us),CH1 (V)\n0,1.5\n1,1.5\n2,+-1.5\n3,1.5\n") == "t.csv:4: expected a voltage in column 2, found \"+-1.5\"");
}

BOOST_AUTO_TEST_CASE(units_behind_the_numbers_replace_those_of_the_header) {
  check_read(written({"Time (us),CH1 (mV)\n", "%t us,%v mV\n", "%.1f", 1e6, "%.0f", 1e3}));
  check_read(written({"Time,CH1\n", "%tns,%vmV\n", "%.0f", 1e9, "%.0f", 1e3}));
  const std::string text = written({"Time,CH1\n", "%t us,%v V\n"});
  BOOST_TEST(read_text(text).channels[0].unit == "V");
  BOOST_TEST(refusal(replaced(text, "0.3 us", "0.3")) == "t.csv:2: expected a unit behind every number of a column or behind none in column 1, found \"0.0 us\"");
  BOOST_TEST(refusal(replaced(text, "us", "V")) == "t.csv:2: expected a time in column 1, found \"0.0 V\"");
  std::string late = "Time (us),CH1 (mV)\n";  // beyond the rows that the layout is made from
  for (int i = 0; i < 5000; ++i) late += std::to_string(i) + ".0," + std::to_string(i % 7) + (i == 4500 ? ".5 mV\n" : ".5\n");
  BOOST_TEST(refusal(late) == "t.csv:4502: expected a voltage in column 2, found \"" + std::to_string(4500 % 7) + ".5 mV\"");
}

BOOST_AUTO_TEST_CASE(numbers_that_can_be_read_in_two_ways_are_refused) {
  const std::string thousands = ": expected decimals in every number or no separators of thousands in column ";
  BOOST_TEST(refusal("Time (ns);CH1 (mV)\n0;40\n100;3,280\n200;3,300\n300;20\n") == "t.csv:2" + thousands + "2, found \"3,280\"");
  BOOST_TEST(refusal("Time (ns);CH1 (mV)\n900;40\n950;80\n1.000;60\n1.050;20\n") == "t.csv:2" + thousands + "1, found \"1.000\"");
  BOOST_TEST(refusal("Time (ms);CH1 (V)\n0;0,875\n1;3,125\n2;3,375\n3;3\n") == "");
  BOOST_TEST(refusal("Time (us),ADC\n0.0,10\n0.1,41\n0.2,1E2\n0.3,22\n") == "t.csv:2: expected whole numbers without an exponent, or all with one in column 2, found \"1E2\"");
}

BOOST_AUTO_TEST_CASE(numbers_that_stand_for_no_value_are_refused) {
  for (const std::string none : {"9.9E+37", "-9.9e37", "9.91E37"})
    BOOST_TEST(refusal("Time (us),CH1 (V)\n0,1.5\n1,1.6\n2," + none + "\n3,1.5\n") == "t.csv:4: expected a voltage in column 2, found \"" + none + "\"");
  std::string text = "Time (s),CH1 (V)\n";
  for (int i = 0; i < 300; ++i) text += with("%.4e", 1e-7 * i) + (i == 277 ? ",9.9000e+37\n" : ",1.5000e+00\n");
  BOOST_TEST(refusal(text) == "t.csv:279: expected a voltage in column 2, found \"9.9000e+37\"");
}

BOOST_AUTO_TEST_CASE(header_values_with_a_unit_beside_them) {
  for (const std::string above : {"Sample interval,100,ns\n", "Sample rate,10,MHz\n", "Sample rate,10 Msps\n", "Sample rate,10 MS/s\n", "Sample interval (ns),100\n"})
    check_read(written({above + "Sample,CH1 (V)\n", "%t,%v\n", "%.0f", 1e7}));
  check_read(written({"Sample,CH1 (V)\nSample rate: 10 MS/s\n", "%t,%v\n", "%.0f", 1e7}));
  check_read(written({"Sample,CH1 (V)\nSample rate,1e7\n", "%t,%v\n", "%.0f", 1e7}));
  for (const std::string above : {"Sample interval,10 MHz\n", "Sample rate,100,ns\n", "Sample interval (furlong),100\n"})
    BOOST_TEST(refusal(written({above + "Sample,CH1 (V)\n", "%t,%v\n", "%.0f", 1e7})).ends_with("found an index column without a time base"));
}

BOOST_AUTO_TEST_CASE(words_between_rows_end_a_record_only_where_the_times_do) {
  const std::string good = written({"Time (us),CH1 (V)\n", "%t,%v\n"});
  for (const std::string words : {"Time (us),CH1 (V)\n", "Page 2\n", "! marker\n", "* marker\n", "# marker\n"}) check_read(replaced(good, "0.4,", words + "0.4,"));
  const std::string other = "t.csv:6: expected the names and units of the first record in column ";
  BOOST_TEST(refusal(replaced(good, "0.4,", "Time (us),CH1 (mV)\n0.4,")) == other + "2, found \"CH1 (mV)\"");
  BOOST_TEST(refusal(replaced(good, "0.4,", "Time (us),CH2 (V)\n0.4,")) == other + "2, found \"CH2 (V)\"");
  BOOST_TEST(refusal(replaced(good, "0.4,", "ms,V\n0.4,")) == other + "1, found \"ms\"");
}

BOOST_AUTO_TEST_CASE(rows_that_are_taken_out_leave_a_gap) {
  const Capture timed = read_text(replaced(written({"Time (us),CH1 (V)\n", "%t,%v\n"}), "0.4,", "# 0.4,"));
  BOOST_TEST(timed.records == 2u);
  BOOST_TEST(timed.samples == 4u);
  BOOST_TEST(timed.sample_interval_s == 1e-7, boost::test_tools::tolerance(1e-9));
  const Capture counted = read_text(replaced(written({"Interval,1e-7\nCH1 (V)\n", "%v\n"}), "-0.02", "# -0.02"));
  BOOST_TEST(counted.records == 2u);
  BOOST_TEST(counted.samples == 4u);
  BOOST_TEST(refusal("Time (us),CH1 (V)\n0.2-,1.5\n0.1-,1.6\n0.0,1.5\n0.1,1.4\n0.2,1.3\n") == "t.csv:3: expected a number in column 1, found \"0.1-\"");
}

BOOST_AUTO_TEST_CASE(what_is_wrong_is_told_where_it_stands) {
  std::string changes = "Time [us],Line 0\n";
  for (int i = 0; i < 4000; ++i) changes += with("%.2f,", 1.25 * i + (i % 2 == 0 ? 0 : 0.4 + 0.01 * (i % 7))) + (i == 3500 ? "2\n" : i % 2 == 0 ? "1\n" : "0\n");
  BOOST_TEST(refusal(changes) == "t.csv:3502: expected a logic level, 0 or 1 in column 2, found \"2\"");
  BOOST_TEST(refusal(written({"Time (us),CH1 (V)\n", "%t,%v\n"}) + "\nMin,-0.02\nMax,3.32\nMean,1.66\n") == "t.csv:11: expected a time in column 1, found \"Min\"");
}

BOOST_AUTO_TEST_CASE(times_of_day_before_zero) {
  const Capture capture = read_text("Time,CH1 (V)\n-00:00:00.0000002,1\n-00:00:00.0000001,2\n00:00:00.0000000,3\n00:00:00.0000001,2\n");
  BOOST_TEST(capture.samples == 4u);
  BOOST_TEST(capture.sample_interval_s == 1e-7, boost::test_tools::tolerance(1e-9));
}

BOOST_AUTO_TEST_CASE(columns_between_bars_and_blanks) {
  check_read(written({"Time (us) | CH1 (V)\n", "%t | %v\n"}));
  check_read(written({"| Time (us) | CH1 (V) |\n|---|---|\n", "| %t | %v |\n"}));
  check_read(written({"   Time (us)      CH1 (V)\n", "   %t     %v\n"}));
}

BOOST_AUTO_TEST_SUITE_END()
