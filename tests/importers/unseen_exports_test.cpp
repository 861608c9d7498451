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

BOOST_AUTO_TEST_SUITE_END()
