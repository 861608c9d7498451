// Where the time base comes from: each shape of it, each way to break it, and the whole answer.

#include "tests/importers/broken_shapes.hpp"

using pulsewright::tests::check_broken;
using pulsewright::tests::only_lines;

BOOST_AUTO_TEST_SUITE(broken_time_bases)

BOOST_AUTO_TEST_CASE(time_column_names_line) {  // A1
  check_broken(
      "TIME,CH2\n" "0.0e-06,0.04\n" "1.0e-06,3.28\n" "2.0e-06,3.25\n" "3.0e-06,0.08\n" "4.0e-06,0.05\n" "5.0e-06,3.31\n"
      "6.0e-06,3.26\n" "7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 69: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"TIME,CH2\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          {"TIME", "TI\x01" "E", "t.csv, byte 0: expected delimited text, WAV, VCD or any of these gzip-compressed, found binary data beginning with the bytes 54 49 01 45 2c 43 48 32"},
          {"3.0e-06,0.08\n4.0e-06,0.05\n", "4.0e-06,0.05\n3.0e-06,0.08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05\n", "4.0e-06,0.05\n4.0e-06,0.05\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"TIME,CH2\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(names_and_units_lines) {  // A2
  check_broken(
      "axis,1,2\n" "second,Volt,Volt\n" "+0.000E+00,0.04,0.09\n" "+1.000E-06,3.28,3.26\n" "+2.000E-06,3.25,3.31\n"
      "+3.000E-06,0.08,0.05\n" "+4.000E-06,0.05,0.08\n" "+5.000E-06,3.31,3.25\n" "+6.000E-06,3.26,3.28\n" "+7.000E-06,0.09,0.04\n",
      {
          {"0.08\n", "0x.08\n", "t.csv:7: expected a voltage in column 3, found \"0x.08\""},
          {"0.08\n", "inf\n", "t.csv:7: expected a voltage in column 3, found \"inf\""},
          {"0.08\n", "0.08,9.75\n", "t.csv:7: expected the end of the row in column 4, found \"9.75\""},
          {"0.08\n", "\n", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.08\n", "0,08\n", "t.csv:7: expected the end of the row in column 4, found \"08\""},
          {"0.08\n", "\x01\x02\n", "t.csv, byte 126: expected text, found the byte 01"},
          {"+4.000E-06", "+4.000E-0q6", "t.csv:7: expected a time in column 1, found \"+4.000E-0q6\""},
          {"second", "gram", "t.csv:2: expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 1, found \"gram\""},
          {"Volt,Volt", "Volt,Ohm", "the unit of 2 is not known, \"Ohm\": taken as volts"},
          {"axis,1,2\nsecond,Volt,Volt\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts | the unit of channel 2 is not stated: taken as volts"},
          {"+3.000E-06,0.08,0.05\n+4.000E-06,0.05,0.08\n", "+4.000E-06,0.05,0.08\n+3.000E-06,0.08,0.05\n", "t.csv:7: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"+4.000E-06,0.05,0.08\n", "+4.000E-06,0.05,0.08\n+4.000E-06,0.05,0.08\n", "t.csv:8: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"+4.000E-06,0.05,0.08\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(2, "t.csv:1: expected a waveform, found text without columns of numbers, \"axis,1,2\""),
          only_lines(3, "t.csv:3: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(units_line_in_parentheses) {  // A3
  check_broken(
      "Time,Input A\n" "(ms),(V)\n" "\n" "-0.010,0.04\n" "0.000,3.28\n" "0.010,3.25\n" "0.020,0.08\n" "0.030,0.05\n" "0.040,3.31\n"
      "0.050,3.26\n" "0.060,0.09\n",
      {
          {"3.26", "3x.26", "t.csv:10: expected a voltage in column 2, found \"3x.26\""},
          {"3.26", "inf", "t.csv:10: expected a voltage in column 2, found \"inf\""},
          {"3.26", "3.26,9.75", "t.csv:10: expected the end of the row in column 3, found \"9.75\""},
          {"3.26", "", "the file holds 2 records (gaps in time): record 1 with 6 rows is used | 1 row without a value left out"},
          {"3.26", "3,26", "t.csv:10: expected the end of the row in column 3, found \"26\""},
          {"3.26", "\x01\x02", "t.csv, byte 96: expected text, found the byte 01"},
          {"0.030", "0.03q0", "t.csv:8: expected a time in column 1, found \"0.03q0\""},
          {"(ms)", "(m)", "t.csv:2: expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 1, found \"m\""},
          {"(V)", "(W)", "the unit of Input A is not known, \"W\": taken as volts"},
          {"Time,Input A\n(ms),(V)\n\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          {"0.020,0.08\n0.030,0.05\n", "0.030,0.05\n0.020,0.08\n", "t.csv:8: expected times that rise in column 1, found time running backwards by 1e-05 s"},
          {"0.030,0.05\n", "0.030,0.05\n0.030,0.05\n", "t.csv:9: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-05 s"},
          {"0.030,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(3, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time,Input A\""),
          only_lines(4, "t.csv:4: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(units_in_the_names) {  // A4
  check_broken(
      "Time (s),Probe 1 (V)\n" "0.0e-06,0.04\n" "1.0e-06,3.28\n" "2.0e-06,3.25\n" "3.0e-06,0.08\n" "4.0e-06,0.05\n" "5.0e-06,3.31\n"
      "6.0e-06,3.26\n" "7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a voltage in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a voltage in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 81: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"(s)", "(kg)", "t.csv:1: expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 1, found \"kg\""},
          {"(V)", "(ohm)", "the unit of Probe 1 (ohm) is not known, \"ohm\": taken as volts"},
          {"Time (s),Probe 1 (V)\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          {"3.0e-06,0.08\n4.0e-06,0.05\n", "4.0e-06,0.05\n3.0e-06,0.08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05\n", "4.0e-06,0.05\n4.0e-06,0.05\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s),Probe 1 (V)\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(start_and_increment_in_the_header) {  // A5
  check_broken(
      "N,CH1,CH2,Begin,Step,\n" "Index,Volt,Volt,-4.0e-06,2.0e-09\n" "0,0.04,0.09,\n" "1,3.28,3.26,\n" "2,3.25,3.31,\n"
      "3,0.08,0.05,\n" "4,0.05,0.08,\n" "5,3.31,3.25,\n" "6,3.26,3.28,\n" "7,0.09,0.04,\n",
      {
          {"0.08,\n5", "0x.08,\n5", "t.csv:7: expected a voltage in column 3, found \"0x.08\""},
          {"0.08,\n5", "inf,\n5", "t.csv:7: expected a voltage in column 3, found \"inf\""},
          {"0.08,\n5", "0.08,9.75,\n5", "t.csv:7: expected the end of the row in column 4, found \"9.75\""},
          {"0.08,\n5", ",\n5", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.08,\n5", "0,08,\n5", "t.csv:7: expected the end of the row in column 4, found \"08\""},
          {"0.08,\n5", "\x01\x02,\n5", "t.csv, byte 114: expected text, found the byte 01"},
          {"\n4,", "\n4q,", "t.csv:7: expected a time in column 1, found \"4q\""},
          {"2.0e-09", "none", "t.csv:3: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base"},
          {"2.0e-09", "0", "t.csv:3: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base"},
          {"-4.0e-06", "x", "\"Begin\" in the header is \"x\": not used"},
          {"Index,Volt,Volt,-4.0e-06,2.0e-09\n", "", "t.csv:2: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base"},
          {"\n6,", "\n60,", "t.csv:10: expected times that rise in column 1, found time running backwards by 1.06e-07 s"},
          {"3,0.08,0.05,\n4,0.05,0.08,\n", "4,0.05,0.08,\n3,0.08,0.05,\n", "t.csv:7: expected times that rise in column 1, found time running backwards by 2e-09 s"},
          {"4,0.05,0.08,\n", "4,0.05,0.08,\n4,0.05,0.08,\n", "t.csv:8: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 2e-09 s"},
          {"4,0.05,0.08,\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(2, "t.csv:1: expected a waveform, found text without columns of numbers, \"N,CH1,CH2,Begin,Step,\""),
          only_lines(3, "t.csv:3: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(interval_in_the_preamble_values_only) {  // A6
  check_broken(
      "Points,8,\n" "Scale,5.0E-01,\n" "Sample Period,4.0E-06,\n" "Data,\n" "-12,\n" "-11,\n" "37,\n" "36,\n" "-10,\n" "-9,\n" "38,\n"
      "35,\n",
      {
          {"-10,", "-x10,", "t.csv:9: expected a number in column 1, found \"-x10\""},
          {"-10,", "inf,", "t.csv:9: expected a number in column 1, found \"inf\""},
          {"-10,", "-10,9.75,", "t.csv:9: expected the end of the row in column 2, found \"9.75\""},
          {"-10,", ",", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"-10,", "\x01\x02,", "t.csv, byte 72: expected text, found the byte 01"},
          {"4.0E-06", "4.0X-06", "t.csv:5: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found values without a time base"},
          {"4.0E-06", "-4.0E-06", "t.csv:5: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found values without a time base"},
          {"Points,8", "Points,9", "the header announces 9 samples, the file holds 8"},
          {"Sample Period,4.0E-06,\n", "", "t.csv:4: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found values without a time base"},
          only_lines(4, "t.csv:1: expected a waveform, found a table with words such as \"Points\" beside its numbers"),
          only_lines(5, "t.csv:5: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(interval_and_a_rounded_time_column) {  // A7
  check_broken(
      "Interval,3.2e-08,\n" "TIME,CH1\n" "1.000e-05,0.04\n" "1.003e-05,3.28\n" "1.006e-05,3.25\n" "1.010e-05,0.08\n" "1.013e-05,0.05\n"
      "1.016e-05,3.31\n" "1.019e-05,3.26\n" "1.022e-05,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:7: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:7: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:7: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:7: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 97: expected text, found the byte 01"},
          {"1.013e-05", "1.013e-0q5", "t.csv:7: expected a time in column 1, found \"1.013e-0q5\""},
          {"3.2e-08", "3.2e-07", "\"Interval\" in the header says 3.2e-07 s a sample, the time column 3.14286e-08 s: the time column is used"},
          {"3.2e-08", "3.x", "\"Interval\" in the header is \"3.x\": not used"},
          {"TIME,CH1\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          {"1.010e-05,0.08\n1.013e-05,0.05\n", "1.013e-05,0.05\n1.010e-05,0.08\n", "t.csv:7: expected times that rise in column 1, found time running backwards by 3e-08 s"},
          {"1.013e-05,0.05\n", "1.013e-05,0.05\n1.013e-05,0.05\n", "t.csv:8: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 4e-08 s"},
          {"1.013e-05,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(2, "t.csv:1: expected a waveform, found text without columns of numbers, \"Interval,3.2e-08,\""),
          only_lines(3, "t.csv:3: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(rounded_times_no_interval) {  // A8
  check_broken(
      "second,Volt\n" "-1.70E-02,0.04\n" "-1.70E-02,3.28\n" "-1.69E-02,3.25\n" "-1.69E-02,0.08\n" "-1.69E-02,0.05\n" "-1.69E-02,3.31\n"
      "-1.69E-02,3.26\n" "-1.68E-02,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a voltage in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a voltage in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (rows without values between): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 82: expected text, found the byte 01"},
          {"second,Volt\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"second,Volt\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(sample_index_and_rate_column) {  // A10
  check_broken(
      "\"idx (abs)\",\"idx (rel)\",\"rate (Hz)\",\"Line-1\",\"Line-0\"\n" "0,-50,2000000,0,1\n" "7,-43,2000000,1,1\n"
      "9,-41,2000000,0,1\n" "12,-38,2000000,1,1\n" "20,-30,2000000,0,1\n" "21,-29,2000000,1,0\n",
      {
          {"12", "1q2", "t.csv:5: expected a time in column 1, found \"1q2\""},
          {"9,-41,2000000", "9,-41,0", "t.csv:2: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base"},
          {"12,-38,2000000", "12,-38,1000000", "t.csv:2: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base"},
          {"-38,2000000,1,1", "-38,2000000,2,1", "column 4 (Line-1) is a bus and left out | Line-0 holds only 0 and 1 without a unit: read as logic"},
          {"-38,2000000,1", "-38,2000000,q", "t.csv:5: expected a logic level in column 4, found \"q\""},
          {"\"rate (Hz)\"", "\"other\"", "t.csv:2: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"idx (abs)\",\"idx (rel)\",\"rate (Hz)\",\"Line...\""),
          only_lines(2, "t.csv:2: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found an index column without a time base")
      });
}

BOOST_AUTO_TEST_CASE(index_and_time_columns) {  // A11
  check_broken(
      "Sample,Time(S),CH1(V)\n" "0,0.0e-06,0.04\n" "1,1.0e-06,3.28\n" "2,2.0e-06,3.25\n" "3,3.0e-06,0.08\n" "4,4.0e-06,0.05\n"
      "5,5.0e-06,3.31\n" "6,6.0e-06,3.26\n" "7,7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a voltage in column 3, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a voltage in column 3, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 4, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 4, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 92: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 2, found \"4.0e-0q6\""},
          {"Time(S)", "Time(kg)", "t.csv:1: expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 2, found \"kg\""},
          {"3,3.0e-06,0.08\n4,4.0e-06,0.05\n", "4,4.0e-06,0.05\n3,3.0e-06,0.08\n", "t.csv:6: expected times that rise in column 2, found time running backwards by 1e-06 s"},
          {"4,4.0e-06,0.05\n", "4,4.0e-06,0.05\n4,4.0e-06,0.05\n", "t.csv:7: expected samples at even steps of time in column 2, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4,4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Sample,Time(S),CH1(V)\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(absolute_time_stamps) {  // A12
  check_broken(
      "Time [s],d,e\n" "2031-05-06T07:08:09.123450000+00:00,0,0\n" "2031-05-06T07:08:09.123450125+00:00,1,0\n"
      "2031-05-06T07:08:09.123450500+00:00,0,0\n" "2031-05-06T07:08:09.123450625+00:00,1,1\n"
      "2031-05-06T07:08:09.123451000+00:00,0,1\n" "2031-05-06T07:08:09.123451125+00:00,1,1\n"
      "2031-05-06T07:08:09.123451500+00:00,0,0\n" "2031-05-06T07:08:09.123451625+00:00,1,0\n",
      {
          {"2031-05-06T07:08:09.123451000+00:00", "2031-05-06T07:08:09.123451000+00:0q0", "t.csv:6: expected a time in column 1, found \"2031-05-06T07:08:09.123451000+00:0q0\""},
          {"2031-05-06T07:08:09.123451000+00:00", "2031-13-32T07:08:09.123451000+00:00", "t.csv:6: expected a time in column 1, found \"2031-13-32T07:08:09.123451000+00:00\""},
          {"2031-05-06T07:08:09.123451000+00:00", "2031-05-06T07:68:09.123451000+00:00", "t.csv:6: expected a time in column 1, found \"2031-05-06T07:68:09.123451000+00:00\""},
          {"2031-05-06T07:08:09.123451000+00:00", "2031-05-06T07:08:09.123450125+00:00", "the file holds 2 records (time starts again): record 1 with 4 rows is used"},
          {"2031-05-06T07:08:09.123451000+00:00,0", "2031-05-06T07:08:09.123451000+00:00,7", "column 2 (d) is a bus and left out | e holds only 0 and 1 without a unit: read as logic"},
          {"2031-05-06T07:08:09.123450625+00:00,1,1\n2031-05-06T07:08:09.123451000+00:00,0,1\n", "2031-05-06T07:08:09.123451000+00:00,0,1\n2031-05-06T07:08:09.123450625+00:00,1,1\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 3.75e-07 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time [s],d,e\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(time_base_in_a_comment) {  // A13
  check_broken(
      "#base=1000000(ps)\n" ",#vbase=500000(uV)\n" "#n=8\n" "1.0E-06,40.0\n" "2.0E-06,3280.5\n" "3.0E-06,3250.0\n" "4.0E-06,80.0\n"
      "5.0E-06,50.0\n" "6.0E-06,3310.0\n" "7.0E-06,3260.0\n" "8.0E-06,90.0\n",
      {
          {"3310.0", "3x310.0", "t.csv:9: expected a voltage in column 2, found \"3x310.0\""},
          {"3310.0", "inf", "t.csv:9: expected a voltage in column 2, found \"inf\""},
          {"3310.0", "3310.0,9.75", "t.csv:9: expected the end of the row in column 3, found \"9.75\""},
          {"3310.0", "", "the file holds 2 records (gaps in time): record 1 with 5 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"3310.0", "3310,0", "t.csv:9: expected the end of the row in column 3, found \"0\""},
          {"3310.0", "\x01\x02", "t.csv, byte 119: expected text, found the byte 01"},
          {"5.0E-06", "5.0E-0q6", "t.csv:8: expected a time in column 1, found \"5.0E-0q6\""},
          {"#n=8", "#n=9", "the header announces 9 samples, the file holds 8"},
          {"4.0E-06,80.0\n5.0E-06,50.0\n", "5.0E-06,50.0\n4.0E-06,80.0\n", "t.csv:8: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"5.0E-06,50.0\n", "5.0E-06,50.0\n5.0E-06,50.0\n", "t.csv:9: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"5.0E-06,50.0\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | the header announces 8 samples, the file holds 7"},
          only_lines(3, "t.csv:1: expected a waveform, found text without columns of numbers, \"#base=1000000(ps)\""),
          only_lines(4, "t.csv:4: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_SUITE_END()
