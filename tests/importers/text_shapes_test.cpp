// Each shape of text as an invented file, with the facts that have to come out of it.

#include <boost/test/unit_test.hpp>
#include <string>
#include <vector>

#include "tests/importers/text_support.hpp"
#include "tests/importers/truncations.hpp"

using namespace pulsewright::importers;
using pulsewright::tests::check_cut_text;
using pulsewright::tests::cuts_of;
using pulsewright::tests::has_note;
using pulsewright::tests::read_text;
using pulsewright::tests::refusal;
using pulsewright::tests::utf16;

namespace {

struct Expected {
  std::string text;
  double interval_s, start_s;
  std::vector<std::string> names;
  std::vector<std::string> units;
  std::vector<std::vector<float>> values;
};

/// Reads a good file, and cut everywhere.
Capture read_good(const std::string& text, const ImportOptions& options = {}) {
  const auto read = [&](const std::string& bytes) { return read_text(bytes, options); };
  const Capture whole = read(text);
  for (const auto length : cuts_of(text.size()))
    BOOST_TEST_CONTEXT("cut to " << length << " of " << text.substr(0, 300)) check_cut_text(text, length, whole, "t.csv", read);
  return whole;
}

void check(const std::string& label, const Expected& expected) {
  BOOST_TEST_CONTEXT(label) {
    const Capture capture = read_good(expected.text);
    BOOST_TEST(capture.format == "text");
    BOOST_TEST(capture.sample_interval_s == expected.interval_s, boost::test_tools::tolerance(1e-9));
    BOOST_TEST(capture.start_s == expected.start_s, boost::test_tools::tolerance(1e-9));
    BOOST_TEST(!capture.sample_interval_rule.empty());
    BOOST_TEST_REQUIRE(capture.channels.size() == expected.names.size());
    for (std::size_t c = 0; c < expected.names.size(); ++c) {
      BOOST_TEST(capture.channels[c].name == expected.names[c]);
      BOOST_TEST(capture.channels[c].unit == expected.units[c]);
      BOOST_TEST(capture.channels[c].values == expected.values[c], boost::test_tools::per_element());
      BOOST_TEST(capture.samples == expected.values[c].size());
    }
  }
}

using Levels = std::vector<std::pair<double, bool>>;

Levels levels(const Channel& channel) {
  BOOST_TEST((channel.kind == ChannelKind::logic));
  Levels found;
  for (const auto& change : channel.changes) found.emplace_back(change.time_s, change.high);
  return found;
}

void check_levels(const Channel& channel, const Levels& expected) {
  const auto found = levels(channel);
  BOOST_TEST_REQUIRE(found.size() == expected.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    BOOST_TEST(found[i].first == expected[i].first, boost::test_tools::tolerance(1e-9));
    BOOST_TEST(found[i].second == expected[i].second);
  }
}

}  // namespace

BOOST_AUTO_TEST_SUITE(text_shapes)

BOOST_AUTO_TEST_CASE(time_column_with_a_names_line) {
  check("names", {"TIME,CH2\n-1.0e-06,0.04\n0.0e+00,3.28\n1.0e-06,3.25\n", 1e-6, -1e-6, {"CH2"}, {""}, {{0.04f, 3.28f, 3.25f}}});
}

BOOST_AUTO_TEST_CASE(names_and_units_lines) {
  check("bare digits as names",
        {"axis,1,2\nsecond,Volt,Volt\n-2.000E-06,+12.5E-03,+3.30E+00\n-1.000E-06,+13.5E-03,+3.20E+00\n-0.000E-06,+14.5E-03,+3.10E+00\n", 1e-6, -2e-6,
         {"1", "2"}, {"V", "V"}, {{0.0125f, 0.0135f, 0.0145f}, {3.3f, 3.2f, 3.1f}}});
  check("parentheses, blank line, milliseconds and millivolts",
        {"Time,Input A,Input B\n(ms),(V),(mV)\n\n-0.0100,0.02,20\n-0.0099,0.03,30\n-0.0098,3.02,3300\n", 1e-7, -1e-5, {"Input A", "Input B"},
         {"V", "V"}, {{0.02f, 0.03f, 3.02f}, {0.02f, 0.03f, 3.3f}}});
  check("the same with tabs", {"Time\tInput A\n(us)\t(V)\n\n1.0\t0.02\n1.5\t0.03\n2.0\t3.02\n", 5e-7, 1e-6, {"Input A"}, {"V"}, {{0.02f, 0.03f, 3.02f}}});
}

BOOST_AUTO_TEST_CASE(units_inside_the_names) {
  const std::vector<std::vector<float>> values{{1.5f, 1.6f}};
  check("brackets", {"Time (s),Probe 1 (V)\n0.0,1.5\n1e-6,1.6\n", 1e-6, 0, {"Probe 1"}, {"V"}, values});
  check("in", {"in s,A in V\n0.0,1.5\n1e-6,1.6\n", 1e-6, 0, {"A"}, {"V"}, values});
  check("capital S", {"Time(S),CH1(V)\n0.0,1.5\n1e-6,1.6\n", 1e-6, 0, {"CH1"}, {"V"}, values});
  check("underscore", {"time_s;voltage_A_V\n0.0;1.5\n1e-6;1.6\n", 1e-6, 0, {"voltage_A"}, {"V"}, values});
  check("solidus, decimal comma", {"\"Dauer\" d / s;A / mV\n0,0;1500\n0,000001;1600,0\n", 1e-6, 0, {"A"}, {"V"}, values});
}

BOOST_AUTO_TEST_CASE(start_and_increment_in_the_header) {
  check("index column",
        {"\r\nN,CH1,CH2,Begin,Step,\r\nIndex,Volt,Volt,-4.0e-06,2.0e-09\r\n0,0.04,3.20,\r\n1,0.08,3.16,\r\n2,0.04,3.10,\r\n", 2e-9, -4e-6, {"CH1", "CH2"},
         {"V", "V"}, {{0.04f, 0.08f, 0.04f}, {3.2f, 3.16f, 3.1f}}});
  check("the same names over a time column",
        {"N,CH1,CH2\nIndex,Volt,Volt\n-4.0e-06,0.04,3.20,\n-3.0e-06,0.08,3.16,\n-2.0e-06,0.04,3.10,\n", 1e-6, -4e-6, {"CH1", "CH2"}, {"V", "V"},
         {{0.04f, 0.08f, 0.04f}, {3.2f, 3.16f, 3.1f}}});
}

BOOST_AUTO_TEST_CASE(a_long_single_column_is_read_by_the_metadata_above_it) {
  std::string text = "Comment,simulated (invented), long record,\nVertical Units,V,\nSample Period,4.0E-09,\nData,\n";
  for (int i = 0; i < 5000; ++i) text += i % 2 ? "3.28\n" : "0.04\n";
  const auto capture = read_good(text);
  BOOST_TEST(capture.sample_interval_s == 4e-9);
  BOOST_TEST(capture.samples == 5000u);
  BOOST_TEST(capture.channels.at(0).unit == "V");
}

BOOST_AUTO_TEST_CASE(comments_may_separate_key_and_value_by_a_mark_that_the_rows_do_not_use) {
  for (const std::string rows : {"Line (V)\n0.04\n3.28\n0.08\n", "N\tLine\n()\t(V)\n0\t0.04\n1\t3.28\n2\t0.08\n"}) {
    const auto capture = read_text(";Record Length,3\n;Sampling Rate,5.0e+07\n" + rows);
    BOOST_TEST(capture.sample_interval_s == 20e-9);
    BOOST_TEST(capture.samples == 3u);
    BOOST_TEST(capture.channels.at(0).name == "Line");
    BOOST_TEST(capture.channels[0].unit == "V");
  }
}

BOOST_AUTO_TEST_CASE(a_header_with_decimal_commas_above_whole_numbers) {
  const auto capture = read_text("Sample Rate;2,500000e+08\nIndex;A [mV]\n0;11960\n1;40\n2;80\n");
  BOOST_TEST(capture.sample_interval_s == 4e-9);
  BOOST_TEST(capture.channels.at(0).name == "A");
}

BOOST_AUTO_TEST_CASE(blanks_in_a_name_do_not_cut_a_single_column) {
  std::string text = "# Sampling Period: 1.0e-08\n# Date: 2031-05-06 07:08:09\nProbe 1 [V]\n";
  for (int i = 0; i < 100; ++i) text += i % 2 ? "3.3\n" : "0.04\n";
  const auto capture = read_text(text);
  BOOST_TEST(capture.channels.at(0).name == "Probe 1");
  BOOST_TEST(capture.channels[0].unit == "V");
}

BOOST_AUTO_TEST_CASE(a_date_behind_start_is_no_time_of_the_first_sample) {
  const auto capture = read_text("Start,2031-05-06 07:08:09,\nInterval,1e-08,\nA (V)\n0.08\n3.3\n0.04\n");
  BOOST_TEST(capture.start_s == 0);
}

BOOST_AUTO_TEST_CASE(interval_in_the_preamble_and_counts) {
  const std::string text = "Points,4,\nScale,5.0E-01,\nSample Period,4.0E-06,\nData,\n-12,\n-12,\n37,\n36,\n";
  const Capture capture = read_good(text);
  BOOST_TEST(capture.sample_interval_s == 4e-6);
  BOOST_TEST(*capture.samples_announced == 4u);
  BOOST_TEST((capture.channels.at(0).kind == ChannelKind::counts));
  BOOST_TEST(capture.channels[0].unit == "count");
  BOOST_TEST(capture.channels[0].values[2] == 37.0f);
  BOOST_TEST(has_note(capture, "ADC counts"));
  const Capture scaled = read_good(text, {.volts_per_count = 0.1});
  BOOST_TEST((scaled.channels.at(0).kind == ChannelKind::analog));
  BOOST_TEST(scaled.channels[0].values[2] == 3.7f);
}

BOOST_AUTO_TEST_CASE(rounded_time_columns) {
  check("preamble wins over alternating steps",
        {"Interval,3.2e-08,\nTIME,CH1\n1.000e-05,0.1\n1.003e-05,0.1\n1.006e-05,3.3\n1.010e-05,3.3\n", 3.2e-8, 1e-5, {"CH1"}, {""}, {{0.1f, 0.1f, 3.3f, 3.3f}}});
  std::string text = "second,Volt\n";
  char row[64];
  for (int i = 0; i < 20000; ++i) {
    std::snprintf(row, sizeof row, "%.2E,%.2f\n", -0.017 + i * 2e-6, 0.5 + 0.1 * (i % 7));
    text += row;
  }
  const Capture capture = read_good(text);  // 98 % of the steps are zero
  BOOST_TEST(capture.samples == 20000u);
  BOOST_TEST(capture.records == 1u);
  BOOST_TEST(std::abs(capture.sample_interval_s - 2e-6) < 3 * capture.sample_interval_u_s);
  BOOST_TEST(capture.sample_interval_u_s < 1e-8);
}

BOOST_AUTO_TEST_CASE(rounded_times_that_lose_decimals_as_they_grow) {
  std::string text = "Interval,8.0e-09,\nTIME,CH1\n";  // four digits: steps of 1 ns at the start, of 100 ns at the end
  char row[64];
  for (int i = 0; i < 20000; ++i) {
    std::snprintf(row, sizeof row, "%.3e,%.2f\n", -12e-6 + i * 8e-9, 0.5 + 0.1 * (i % 7));
    text += row;
  }
  const Capture capture = read_good(text);
  BOOST_TEST(capture.samples == 20000u);
  BOOST_TEST(capture.records == 1u);
  BOOST_TEST(capture.sample_interval_s == 8e-9);
}

BOOST_AUTO_TEST_CASE(index_without_time_base_asks_for_the_rate) {
  const std::string asks = "expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found ";
  BOOST_TEST(refusal("0,-0.0012\n1,0.0007\n2,0.0004\n") == "t.csv:1: " + asks + "an index column without a time base");
  BOOST_TEST(refusal("x0,y0,x1,y1\n0,120,0,77,\n1,121,1,70,\n2,0,2,7,\n") == "t.csv:2: " + asks + "an index column without a time base");
  BOOST_TEST(refusal("0.5\n0.6\n0.7\n") == "t.csv:1: " + asks + "values without a time base");
  const Capture capture = read_good("x0,y0,x1,y1\n0,120,0,77,\n1,121,1,70,\n2,0,2,7,\n", {.sample_rate_hz = 1e6});
  BOOST_TEST_REQUIRE(capture.channels.size() == 2u);
  BOOST_TEST(capture.channels[1].name == "y1");
  BOOST_TEST(capture.channels[1].values[1] == 70.0f);
  BOOST_TEST(capture.sample_interval_s == 1e-6);
}

BOOST_AUTO_TEST_CASE(index_and_rate_columns) {
  const Capture capture = read_good("\"idx (abs)\",\"idx (rel)\",\"rate (Hz)\",\"Line-1\",\"Line-0\"\n0,-50,2000000,0,1\n7,-43,2000000,1,1\n9,-41,2000000,0,1\n");
  BOOST_TEST_REQUIRE(capture.channels.size() == 2u);
  check_levels(capture.channels[0], {{0, false}, {3.5e-6, true}, {4.5e-6, false}});
  check_levels(capture.channels[1], {{0, true}});
}

BOOST_AUTO_TEST_CASE(an_index_beside_a_time_column_does_not_win) {
  check("index and time", {"Sample,Time(S),CH1(V)\n0,-1.0e-06,0.1\n1,-9.0e-07,0.2\n2,-8.0e-07,3.1\n", 1e-7, -1e-6, {"CH1"}, {"V"}, {{0.1f, 0.2f, 3.1f}}});
}

BOOST_AUTO_TEST_CASE(absolute_time_stamps_are_subtracted_in_integers) {
  const Capture iso = read_good("Time [s],d,e\n2031-05-06T07:08:09.123456789+00:00,1,0\n2031-05-06T07:08:09.123456914+00:00,0,0\n"
                                "2031-05-06T07:08:10.000000001+00:00,1,0\n");
  check_levels(iso.channels.at(0), {{0, true}, {125e-9, false}, {0.876543212, true}});
  check("day first", {"delta t\tA\n06/05/2031  23:59:59.999999\t0.0123\n07/05/2031  00:00:00.000000\t0.02\n07/05/2031  00:00:00.000001\t3.0\n", 1e-6, 0,
                      {"A"}, {""}, {{0.0123f, 0.02f, 3.0f}}});
}

BOOST_AUTO_TEST_CASE(foreign_units_in_comments) {
  check("millivolts from the volts a division",
        {"#base=2000000(ps)\n,#vbase=500000(uV)\n#n=4\n1.0E-07,3340.000\n2.0E-07,3340.000\n3.0E-07,40.000\n4.0E-07,34.000\n", 1e-7, 1e-7, {"channel 1"}, {"V"},
         {{3.34f, 3.34f, 0.04f, 0.034f}}});
}

BOOST_AUTO_TEST_CASE(metadata_above_left_right_and_in_comments) {
  check("above, with a byte order mark",
        {"\xef\xbb\xbfPoints,3,\n\nVertical Units,V,V\nVertical Scale,2,0.5\nTIME,CH1,CH2\n0.0,1.0,2.0\n1e-6,1.0,2.0\n2e-6,1.0,2.5\n", 1e-6, 0, {"CH1", "CH2"},
         {"V", "V"}, {{1, 1, 1}, {2, 2, 2.5f}}});
  check("two in one cell", {"Rate,Analog:1000000\nVertical Units,CH1:V CH2:V\nTIME,CH1,CH2\n0.0,1.5,2.0\n1e-6,1.5,2.0\n", 1e-6, 0, {"CH1", "CH2"},
                            {"V", "V"}, {{1.5f, 1.5f}, {2, 2}}});
  check("left", {"Points,4,,  -0.000002,   0.04,\nInterval,1e-06,,  -0.000001,   0.04,\nSource,CH1,,   0.000000,   3.28,\n,,,00.000001,   3.32,\n", 1e-6, -2e-6,
                 {"channel 1"}, {""}, {{0.04f, 0.04f, 3.28f, 3.32f}}});
  check("left, with names and units", {"Points,3,,Time,A,\nInterval,1e-06,,s,V,\nSource,CH1,,   0.000000,   3.28,\n,,,00.000001,   3.32,\n,,,00.000002,   3.36,\n", 1e-6, 0,
                                       {"A"}, {"V"}, {{3.28f, 3.32f, 3.36f}}});
  check("right", {"col 1,col 2,,,,Points,4\n0.00E+00,0.04,,,,Interval,1e-06\n1.00E-06,0.04,,,,Source,CH1\n2.00E-06,0.05\n3.00E-06,3.05\n", 1e-6, 0, {"col 2"}, {""},
                  {{0.04f, 0.04f, 0.05f, 3.05f}}});
  check("semicolon comments", {";Samples,3\n;Rate,1e+07\nSample,Time(S),CH1(V)\n0,-1.0e-07,0.1\n1,0.0e-07,0.2\n2,1.0e-07,3.1\n", 1e-7, -1e-7, {"CH1"}, {"V"}, {{0.1f, 0.2f, 3.1f}}});
  check("all of the header in comments", {"#Rate: 1e+06Hz\n#Generator: 200 Hz\n# Time,CH1\n0,0.5\n1e-6,3.5\n2e-6,3.25\n", 1e-6, 0, {"CH1"}, {""}, {{0.5f, 3.5f, 3.25f}}});
  check("traps", {"Time,06-May-31 07:08:09,\nHorizontal Units,us\nOld Horizontal Scale,2.0E-02\nWindow,5% to 95%,5% to 95%\nLabel,,\n,\nFormat,Y,,,xy\n"
                  "TIME,CH1\n0,0.5\n1e-6,3.5\n2e-6,3.25\n", 1e-6, 0, {"CH1"}, {""}, {{0.5f, 3.5f, 3.25f}}});
}

BOOST_AUTO_TEST_CASE(segments_are_records) {
  const std::string text = "MODEL\t1234\tWaveform\nSegments\t2\tSegmentSize\t3\nSegment\tTrigTime\tTimeSinceFirst\n#1\t06-May-2031 07:08:09\t0\n"
                           "#2\t06-May-2031 07:08:09\t0.0021\nTime\tAmpl\n-1e-06\t0.01\n0\t0.02\n1e-06\t3.3\n-1e-06\t0.01\n0\t0.03\n1e-06\t3.2\n";
  const Capture second = read_good(text, {.record = 2});
  BOOST_TEST(second.records == 2u);
  BOOST_TEST(second.record == 2u);
  BOOST_TEST(second.samples == 3u);
  BOOST_TEST(second.start_s == -1e-6);
  BOOST_TEST(second.channels.at(0).values[1] == 0.03f);
  BOOST_TEST(read_good(text).channels.at(0).values[1] == 0.02f);
  BOOST_TEST(refusal(text, {.record = 3}) == "t.csv: expected a record from 1 to 2, found record 3");
}

BOOST_AUTO_TEST_CASE(several_channels_and_math_columns) {
  check("math and reference", {"axis,1,MATH1,REF1\nsecond,Volt,Volt,Volt\n0,1.5,2.5,3.5\n1e-6,1.6,2.6,3.6\n", 1e-6, 0, {"1", "MATH1", "REF1"}, {"V", "V", "V"},
                               {{1.5f, 1.6f}, {2.5f, 2.6f}, {3.5f, 3.6f}}});
  check("own time columns", {"t1,v1,t2,v2\n0.0,0.5,0.0,1.5\n1e-6,0.6,1e-6,1.6\n2e-6,0.5,2e-6,1.5\n", 1e-6, 0, {"v1", "v2"}, {"", ""}, {{0.5f, 0.6f, 0.5f}, {1.5f, 1.6f, 1.5f}}});
  BOOST_TEST(refusal("t1,v1,t2,v2\n0.0,0.5,0.1,1.5\n1e-6,0.6,0.2,1.6\n2e-6,0.5,0.3,1.5\n").find("time columns that differ") != std::string::npos);
}

BOOST_AUTO_TEST_CASE(channels_in_separate_files_share_their_time_axis) {
  const Capture first = read_good("Time (s),A (V)\n-1.0e-06,0.5\n0.0e-06,1.5\n1.0e-06,2.5\n");
  const Capture second = read_good("Time (s),B (V)\n-1.0e-06,5.5\n0.0e-06,6.5\n1.0e-06,7.5\n");
  BOOST_TEST(first.start_s == second.start_s);
  BOOST_TEST(first.sample_interval_s == second.sample_interval_s);
  BOOST_TEST(first.samples == second.samples);
  BOOST_TEST(second.channels.at(0).values[2] == 7.5f);
}

BOOST_AUTO_TEST_CASE(one_bare_column_with_a_stated_rate) {
  const Capture capture = read_good("0.5\n0.625\n0.75\n", {.sample_rate_hz = 2e6});
  BOOST_TEST(capture.sample_interval_s == 5e-7);
  BOOST_TEST(capture.sample_interval_rule == "sample rate given by the user");
  BOOST_TEST(capture.channels.at(0).name == "channel 1");
  BOOST_TEST(capture.channels[0].values[1] == 0.625f);
}

BOOST_AUTO_TEST_CASE(trailing_separators_come_and_go) {
  check("none, one and several", {"TIME,CH1,,\n0.0,1.5,\n1e-6,1.6\n2e-6,1.7,,,\n", 1e-6, 0, {"CH1"}, {""}, {{1.5f, 1.6f, 1.7f}}});
  check("blank behind the comma", {"TIME, CH1\n0.0, 1.5\n1e-6, 1.6\n2e-6, 1.7\n", 1e-6, 0, {"CH1"}, {""}, {{1.5f, 1.6f, 1.7f}}});
}

BOOST_AUTO_TEST_CASE(envelope_pairs_are_one_channel) {
  check("columns", {"TIME,CH1,CH1 Peak\n0.0,0.5,0.75\n1e-6,0.5,0.75\n2e-6,3.5,3.75\n", 1e-6, 0, {"CH1"}, {""}, {{0.625f, 0.625f, 3.625f}}});
  check("rows", {"TIME,CH1\n0.000e+00,0.5\n0.000e+00,1.5\n1.000e-06,0.5\n1.000e-06,1.5\n2.000e-06,2.5\n2.000e-06,3.5\n", 1e-6, 0, {"CH1"}, {""}, {{1, 1, 3}}});
}

BOOST_AUTO_TEST_CASE(empty_cells_are_dropped) {
  const Capture capture = read_good("t,a,b\n+5.0E-06,1.5,2\n+6.0E-06,1.25,2.25\n+7.0E-06,,\n");
  BOOST_TEST(capture.samples == 2u);
  BOOST_TEST(capture.records == 1u);
  BOOST_TEST(has_note(capture, "1 row without a value left out"));
  const Capture first = read_good("t,a,b\n+5.0E-06,,\n+6.0E-06,1.25,2.25\n+7.0E-06,1.5,2\n");
  BOOST_TEST(first.samples == 2u);
  BOOST_TEST(first.start_s == 6e-6, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(has_note(first, "1 row without a value left out"));
}

BOOST_AUTO_TEST_CASE(change_lists) {
  const Capture one = read_good("Time [s],Line 0\n-0.250000000,0\n0.000000000,1\n0.000000375,0\n0.000001250,1\n0.000001625,0\n0.000002000,0\n");
  check_levels(one.channels.at(0), {{-0.25, false}, {0, true}, {375e-9, false}, {1.25e-6, true}, {1.625e-6, false}});
  BOOST_TEST(one.span_s == 0.250002, boost::test_tools::tolerance(1e-12));
  BOOST_TEST(!has_note(one, "ends on a change"));
  const Capture two = read_good("Time [s],clk,data\n0.000000000,0,1\n0.000000083,1,1\n0.000000167,0,1\n0.000000250,1,0\n1.500000250,1,1\n");
  check_levels(two.channels.at(1), {{0, true}, {250e-9, false}, {1.50000025, true}});
  BOOST_TEST(two.sample_interval_s == 83.5e-9, boost::test_tools::tolerance(0.01));
  BOOST_TEST(has_note(two, "ends on a change"));
  const Capture bare = read_good("0.000031000000000, 0\n0.000031500000000, 1\n0.000035500000000, 0\n0.000036000000000, 1\n");
  check_levels(bare.channels.at(0), {{31e-6, false}, {31.5e-6, true}, {35.5e-6, false}, {36e-6, true}});
  const Capture volts = read_good("Time (s),A (V)\n0.0000000,0.0\n0.0000004,5.0\n0.0000012,0.0\n0.0000020,5.0\n");
  check_levels(volts.channels.at(0), {{0, false}, {4e-7, true}, {1.2e-6, false}, {2e-6, true}});
  BOOST_TEST(has_note(volts, "two values only, 0 and 5"));
}

BOOST_AUTO_TEST_CASE(sampled_logic_buses_and_unknown_states) {
  const Capture sampled = read_good("Time (s),Bus,D1,D0\n1.0e-08,512,1,0\n2.0e-08,512,1,0\n3.0e-08,514,1,1\n4.0e-08,514,1,1\n");
  BOOST_TEST_REQUIRE(sampled.channels.size() == 2u);
  BOOST_TEST(sampled.channels[0].name == "D1");
  check_levels(sampled.channels[1], {{1e-8, false}, {3e-8, true}});
  BOOST_TEST(sampled.sample_interval_s == 1e-8, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(has_note(sampled, "(Bus) is a bus and left out"));
  BOOST_TEST(has_note(sampled, "read as logic"));
  const Capture unknown = read_good("Time (s),Bus,D1,D0\n1.0e-08,h7A,1,0\n2.0e-08,? h7,X,0\n3.0e-08,h7A,1,1\n4.0e-08,h7A,1,1\n");
  BOOST_TEST_REQUIRE(unknown.channels.size() == 2u);
  check_levels(unknown.channels[0], {{1e-8, true}});
  BOOST_TEST(has_note(unknown, "1 unknown logic state: the level before is held"));
  const Capture quoted = read_good("\"Time\",\"D1\",\"D0\"\n0.0e-7,0,0\n1.0e-7,0,1\n2.0e-7,0,1\n3.0e-7,1,1\n");
  BOOST_TEST(quoted.channels.at(0).name == "D1");
  check_levels(quoted.channels.at(1), {{0, false}, {1e-7, true}});
}

BOOST_AUTO_TEST_CASE(encodings_and_line_ends) {
  std::string text = "Time,CH1\r\n";
  std::vector<std::vector<float>> values(1);
  for (int i = 0; i < 9; ++i) {
    text += std::to_string(i) + ".0e-6,1." + std::to_string(i) + "\r\n";
    values[0].push_back(static_cast<float>(1 + 0.1 * i));
  }
  std::string doubled, bare = text, mac;
  for (const char c : text) {
    if (c == '\r') doubled += '\r';
    doubled += c;
    if (c != '\n') mac += c;
  }
  bare.resize(bare.size() - 2);
  for (const auto& [label, bytes] : std::vector<std::pair<std::string, std::string>>{
           {"CRLF", text}, {"CR CR LF", doubled}, {"no last line end", bare}, {"CR", mac}, {"UTF-16 little endian", utf16(text, false, true)},
           {"UTF-16 big endian", utf16(text, true, true)}, {"UTF-16 without a mark", utf16(text, false, false)}})
    check(label, {bytes, 1e-6, 0, {"CH1"}, {""}, values});
}

BOOST_AUTO_TEST_CASE(decimal_commas) {
  check("semicolon", {"time_s;A_V\n-0,0071;1,18\n-0,0070;1,19\n-0,0069;1,20\n", 1e-4, -0.0071, {"A"}, {"V"}, {{1.18f, 1.19f, 1.2f}}});
  check("tab", {"time_s\tA_V\n-0,0071\t1,18\n-0,0070\t1,19\n-0,0069\t1,20\n", 1e-4, -0.0071, {"A"}, {"V"}, {{1.18f, 1.19f, 1.2f}}});
  BOOST_TEST(refusal("time_s,A_V\n1,234,5,678\n1,235,5,679\n") ==
             "t.csv:2: expected numbers with a decimal point, or separators other than commas, found commas that may be decimal marks or separators, \"1,234,5,678\"");
}

BOOST_AUTO_TEST_CASE(numbers_as_people_print_them) {
  check("forms", {"t;a\n12.5 us;+123.45E-03\n13.0 us;00.000007\n13.5 us;  -0.05\n14.0 us;1.20E+03\n14.5 us;-0.0012340000000000001\n15.0 us;-2.1e-08\n", 5e-7, 12.5e-6, {"a"}, {""},
                  {{123.45e-3f, 0.000007f, -0.05f, 1200.0f, -0.001234f, -2.1e-08f}}});
}

BOOST_AUTO_TEST_CASE(a_file_cut_in_mid_row_is_used_up_to_the_cut) {
  for (const std::string tail : {"3.0e-06,1", "3.0e-06,", "3.0e-06", "3.0\r"}) {
    const Capture capture = read_good("Time,CH1\n0.0e-06,1.52\n1.0e-06,1.63\n2.0e-06,1.74\n" + tail);
    BOOST_TEST(capture.samples == 3u);
    BOOST_TEST(has_note(capture, "the last line has no line end and may be cut in mid-row: not used, 3 rows are"));
  }
}

BOOST_AUTO_TEST_CASE(gaps_split_records) {
  std::string text = "Time (s),CH1 (V)\n";
  for (int i = 0; i < 25; ++i) text += std::to_string(i + (i > 9 ? 30 : 0)) + "e-6," + std::to_string(i) + ".5\n";
  const Capture capture = read_text(text);
  const auto first = [](const std::string& bytes) { return read_text(bytes, {.record = 1}); };
  for (const auto length : cuts_of(text.size())) check_cut_text(text, length, first(text), "t.csv", first);
  BOOST_TEST(capture.records == 2u);
  BOOST_TEST(capture.record == 2u);
  BOOST_TEST(capture.samples == 15u);
  BOOST_TEST(capture.start_s == 40e-6, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(capture.channels.at(0).values.front() == 10.5f);
  BOOST_TEST(has_note(capture, "gaps in time"));
}

BOOST_AUTO_TEST_SUITE_END()
