// Invented exports that invite a wrong reading: each is read right, noted, or refused where the doubt stands.

#include <boost/test/unit_test.hpp>
#include <string>
#include <utility>
#include <vector>

#include "tests/importers/text_support.hpp"

using namespace pulsewright::importers;
using pulsewright::tests::has_note;
using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

namespace {

const std::string values = "0.04\n3.28\n3.25\n0.08\n", rows = "0.0,0.04\n0.1,3.28\n0.2,3.25\n0.3,0.08\n";

/// Times in milliseconds and values in millivolts, 100 ns apart, under this header.
void check_milli(const std::string& header) {
  BOOST_TEST_CONTEXT(header) {
    const std::string text = header + "\n0.0000,40\n0.0001,3280\n0.0002,3250\n0.0003,80\n";
    BOOST_TEST_REQUIRE(refusal(text) == "");
    const Capture capture = read_text(text);
    BOOST_TEST(capture.sample_interval_s == 1e-7, boost::test_tools::tolerance(1e-9));
    BOOST_TEST(capture.channels.at(0).unit == "V");
    BOOST_TEST(capture.channels[0].values[1] == 3.28f);
  }
}

}  // namespace

BOOST_AUTO_TEST_SUITE(odd_exports)

BOOST_AUTO_TEST_CASE(units_wherever_they_stand_in_a_name) {
  for (const std::string header :
       {"Time\uff08ms\uff09,CH1\uff08mV\uff09", "time_msec,ch1_mvolt", "TIME_MSEC,CH1_MVOLT", "t.ms,a.mV", "Time (mSec),CH1 (mVolt)", "Time[msecs],CH1[mvolts]", "time-ms,CH1-mV",
        "time_milliseconds,ch1_millivolts", "Time (ms) rel,CH1 (mV) probe", "Time (ms):,CH1 (mV):", "(ms) Time,(mV) CH1", "Time(ms)*,CH1(mV)*", "Time|ms,CH1|mV", "Time=ms,CH1=mV",
        "Time#ms,CH1#mV", "'Time (ms)','CH1 (mV)'", "TimeMillis,CH1 (mV)", "Timems,CH1 (mV)", "# Time (ms), CH1 (mV)\n# ---------"})
    check_milli(header);
  BOOST_TEST(read_text("Time (us) rel,(V) CH1\n" + rows).channels.at(0).name == "CH1");
}

BOOST_AUTO_TEST_CASE(a_unit_of_time_out_of_its_place_is_refused) {
  const std::string expected = ": expected a unit of time behind the name of the time column or right above its rows in column ";
  for (const std::string between : {"DC,AC", ",DC 1M", "float,float", "Probe,10X", "Coupling: DC"})
    BOOST_TEST(refusal("Time,CH1\nms,mV\n" + between + "\n" + rows) == "t.csv:2" + expected + "1, found \"ms\"");
  BOOST_TEST(refusal("ms,mV\nTime,CH1\n" + rows) == "t.csv:1" + expected + "1, found \"ms\"");
  BOOST_TEST(refusal("t, ms,U, mV\n" + rows) == "t.csv:1" + expected + "2, found \"ms\"");
  BOOST_TEST(refusal("Horizontal Units,us\nTime,CH1\n" + rows) == "");
}

BOOST_AUTO_TEST_CASE(a_first_row_that_begins_oddly_is_not_lost) {
  for (const std::string header : {"Time (us),CH1 (V)\n", ""})
    for (const std::string odd : {"'-0.1", "=-0.1", "*-0.1", "T-0.1", "[-0.1]", "pre -0.1", "_-0.1", "-0.1*"})
      BOOST_TEST(refusal(header + odd + ",0.06\n" + rows) == (header.empty() ? "t.csv:1" : "t.csv:2") + std::string(": expected a number in column 1, found \"") + odd + "\"");
  BOOST_TEST(refusal("Vertical Scale CH2,0.5\n" + rows) == "");
}

BOOST_AUTO_TEST_CASE(thousands_in_a_rate_are_not_decimals) {
  for (const std::string rate : {"Sample Rate: 100,000 Hz", "Sample Rate,\"100,000\"", "Sample Rate: 1,000 kHz", "Sample Interval: 1,000 ns"})
    BOOST_TEST(refusal(rate + "\nCH1 (V)\n" + values).ends_with("or a sample rate given with --sample-rate, found values without a time base"));
  BOOST_TEST(read_text("Sample Rate;2,500\nIndex;A (V)\n0;0,04\n1;3,28\n2;3,25\n").sample_interval_s == 0.4);
}

BOOST_AUTO_TEST_CASE(rates_in_samples_a_second) {
  for (const std::string rate : {"Sampling Rate:,10,MSa/s", "Sample Rate,10 Msamples/s", "Sample Rate,1e7 samples/s", "Sample Rate,10000 kS/sec", "Sample Rate (MSa/s),10", "Sample Rate (GS/s),0.01",
                                 "# rate: 0.01 GSa/s", "Sampling Rate,1.0E+07,1.0E+07"})
    BOOST_TEST_CONTEXT(rate) BOOST_TEST(read_text(rate + "\nIndex,CH1 (V)\n0,0.04\n1,3.28\n2,3.25\n").sample_interval_s == 1e-7, boost::test_tools::tolerance(1e-12));
}

BOOST_AUTO_TEST_CASE(a_header_that_contradicts_itself_is_refused) {
  const std::string expected = "expected one sample interval in the header, or a sample rate given with --sample-rate, found ";
  BOOST_TEST(refusal("Sample Interval,1e-7,2e-7\nCH1 (V),CH2 (V)\n0.04,1\n3.28,2\n").ends_with(expected + "\"Sample Interval\" of 1e-07 and \"Sample Interval\" of 2e-07"));
  BOOST_TEST(refusal("Sample Rate,1e7\nSample Rate,5e6\nCH1 (V)\n" + values).ends_with(expected + "\"Sample Rate\" of 1e+07 and \"Sample Rate\" of 5e+06"));
  BOOST_TEST(refusal("Sample Rate,1e7\nInterval,2e-7\nCH1 (V)\n" + values).ends_with(expected + "\"Interval\" of 2e-07 and \"Sample Rate\" of 1e+07"));
  BOOST_TEST(refusal("Interval: 1e-7\nCH1 (V)\n" + values + "# Interval: 2e-7\n" + values).ends_with(expected + "\"Interval\" of 1e-07 and \"Interval\" of 2e-07"));
  BOOST_TEST(refusal("Sample Rate,1e7\nInterval,1.0e-7\nCH1 (V)\n" + values) == "");
  const Capture noted = read_text("X Increment,100\nX Units,ns\nCH1 (V)\n" + values);
  BOOST_TEST(has_note(noted, "\"X Increment\" in the header states no unit: taken as seconds, though \"ns\" is stated for times"));
}

BOOST_AUTO_TEST_CASE(samples_counted_from_the_trigger_begin_before_zero) {
  const Capture capture = read_text("Sample Rate,10 MHz\nSample,CH1 (V)\n-2,0.04\n-1,3.28\n0,3.25\n1,0.08\n");
  BOOST_TEST(capture.start_s == -2e-7, boost::test_tools::tolerance(1e-9));
}

BOOST_AUTO_TEST_CASE(line_ends_of_two_kinds_lose_no_row) {
  const std::string expected = "t.csv:1: expected lines that all end in a line feed, found a carriage return inside a line";
  BOOST_TEST(refusal("Time (us),CH1 (V)\r" + rows) == expected);
  BOOST_TEST(refusal("Time (us),CH1 (V)\r0.0,0.04\r0.1,3.28\n0.2,3.25\n0.3,0.08\n") == expected);
  BOOST_TEST(read_text("Time (us),CH1 (V)\r\n0.0,0.04\n0.1,3.28\r\n0.2,3.25\n").samples == 3u);
}

BOOST_AUTO_TEST_CASE(channels_one_after_the_other_are_no_samples_of_one) {
  const std::string expected = "t.csv:2: expected a waveform, found a table with rows of several channels one after the other";
  BOOST_TEST(refusal("Channel,Time (us),Value (V)\n1,0.0,0.04\n2,0.0,1.5\n1,0.1,3.28\n2,0.1,1.6\n1,0.2,3.25\n2,0.2,1.7\n") == expected);
  BOOST_TEST(refusal("Time (us),Channel,Value (V)\n0.0,A,0.04\n0.0,B,1.5\n0.1,A,3.28\n0.1,B,1.6\n0.2,A,3.25\n0.2,B,1.7\n") == expected);
  BOOST_TEST(refusal("Channel,Time (us),Value (V)\n1,0.0,0.04\n1,0.1,3.28\n1,0.2,3.25\n2,0.0,1.5\n2,0.1,1.6\n2,0.2,1.7\n") == expected);
}

BOOST_AUTO_TEST_CASE(values_that_go_on_over_several_lines) {
  const std::string wrapped = "Interval,1e-7\n0.04,3.28,3.25,0.08\n0.02,3.26,3.31,0.06\n";
  BOOST_TEST(refusal("Points,8\n" + wrapped) == "t.csv:3: expected a row for each sample, found 8 numbers in 2 rows, as many as the header announces samples");
  BOOST_TEST(has_note(read_text(wrapped), "columns without names or times: each is taken as a channel, not as further samples of one"));
}

BOOST_AUTO_TEST_CASE(columns_that_are_not_read_are_told) {
  std::string text = "Time (us)";
  for (int c = 1; c <= 600; ++c) text += ",CH" + std::to_string(c) + " (V)";
  for (int i = 0; i < 3; ++i) {
    text += "\n0." + std::to_string(i);
    for (int c = 1; c <= 600; ++c) text += ",1.5";
  }
  const Capture capture = read_text(text + "\n");
  BOOST_TEST(capture.channels.size() == 511u);
  BOOST_TEST(has_note(capture, "rows have 601 cells: columns behind the first 512 are left out"));
}

BOOST_AUTO_TEST_CASE(lines_of_words_among_the_rows_are_told) {
  BOOST_TEST(has_note(read_text("Interval,1e-7\nIndex,CH1 (V)\n0,0.04\n1,3.28\nPage 2\n2,3.25\n3,0.08\n"), "1 line of words among or below the rows left out"));
  const Capture segments = read_text("Time (us),CH1 (V)\n" + rows + "Time (us),CH1 (V)\n" + rows);
  BOOST_TEST(segments.records == 2u);
  BOOST_TEST(has_note(segments, "1 line of words among or below the rows left out"));
}

BOOST_AUTO_TEST_SUITE_END()
