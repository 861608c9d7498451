// Value columns: each shape of it, each way to break it, and the whole answer.

#include "tests/importers/broken_shapes.hpp"

using pulsewright::tests::check_broken;
using pulsewright::tests::only_lines;

BOOST_AUTO_TEST_SUITE(broken_columns)

BOOST_AUTO_TEST_CASE(several_channels) {  // C1
  check_broken(
      "t,a,b,c\n" "0.0e-06,0.04,0.09,1.05\n" "1.0e-06,3.28,3.26,1.15\n" "2.0e-06,3.25,3.31,1.25\n" "3.0e-06,0.08,0.05,1.35\n"
      "4.0e-06,0.05,0.08,1.45\n" "5.0e-06,3.31,3.25,1.55\n" "6.0e-06,3.26,3.28,1.65\n" "7.0e-06,0.09,0.04,1.75\n",
      {
          {"1.45", "1x.45", "t.csv:6: expected a number in column 4, found \"1x.45\""},
          {"1.45", "inf", "t.csv:6: expected a number in column 4, found \"inf\""},
          {"1.45", "1.45,9.75", "t.csv:6: expected the end of the row in column 5, found \"9.75\""},
          {"1.45", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"1.45", "1,45", "t.csv:6: expected the end of the row in column 5, found \"45\""},
          {"1.45", "\x01\x02", "t.csv, byte 118: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {",0.08,1.45", ",,1.45", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"t,a,b,c", "t,a,b", "the unit of channel 3 is not stated: taken as volts"},
          {"3.0e-06,0.08,0.05,1.35\n4.0e-06,0.05,0.08,1.45\n", "4.0e-06,0.05,0.08,1.45\n3.0e-06,0.08,0.05,1.35\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,0.08,1.45\n", "4.0e-06,0.05,0.08,1.45\n4.0e-06,0.05,0.08,1.45\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,0.08,1.45\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"t,a,b,c\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(a_time_column_for_each_channel) {  // C2
  check_broken(
      "t1,v1,t2,v2\n" "0.0e-06,0.04,0.1e-06,0.09\n" "1.0e-06,3.28,1.1e-06,3.26\n" "2.0e-06,3.25,2.1e-06,3.31\n"
      "3.0e-06,0.08,3.1e-06,0.05\n" "4.0e-06,0.05,4.1e-06,0.08\n" "5.0e-06,3.31,5.1e-06,3.25\n" "6.0e-06,3.26,6.1e-06,3.28\n"
      "7.0e-06,0.09,7.1e-06,0.04\n",
      {
          {"0.08\n", "0x.08\n", "t.csv:6: expected a number in column 4, found \"0x.08\""},
          {"0.08\n", "inf\n", "t.csv:6: expected a number in column 4, found \"inf\""},
          {"0.08\n", "0.08,9.75\n", "t.csv:6: expected the end of the row in column 5, found \"9.75\""},
          {"0.08\n", "\n", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.08\n", "0,08\n", "t.csv:6: expected the end of the row in column 5, found \"08\""},
          {"0.08\n", "\x01\x02\n", "t.csv, byte 137: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"4.1e-06", "8.1e-06", "t.csv:6: expected channels on one time base in column 3, found time columns that differ by up to 4.1e-06 s"},
          {"4.1e-06", "4.q", "t.csv:6: expected a time in column 3, found \"4.q\""},
          {"3.0e-06,0.08,3.1e-06,0.05\n4.0e-06,0.05,4.1e-06,0.08\n", "4.0e-06,0.05,4.1e-06,0.08\n3.0e-06,0.08,3.1e-06,0.05\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,4.1e-06,0.08\n", "4.0e-06,0.05,4.1e-06,0.08\n4.0e-06,0.05,4.1e-06,0.08\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,4.1e-06,0.08\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"t1,v1,t2,v2\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(one_of_two_files_with_a_channel_each) {  // C3
  check_broken(
      "Time (s),B (V)\n" "-1.0e-06,0.04\n" "0.0e-06,3.28\n" "1.0e-06,3.25\n" "2.0e-06,0.08\n" "3.0e-06,0.05\n" "4.0e-06,3.31\n",
      {
          {"Time (s),B (V)\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          {"Time (s)", "Time (ms)", ""},
          {"Time (s)", "Time (V)", "t.csv:1: expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 1, found \"V\""},
          {"B (V)", "B (A)", ""},
          {"-1.0e-06", "1.0e-06", "the file holds 2 records (time starts again): record 2 with 5 rows is used"},
          {"2.0e-06,0.08", "2.0e-06", "the file holds 2 records (gaps in time): record 1 with 3 rows is used | 1 row without a value left out"},
          {"2.0e-06,0.08", "0.08,2.0e-06", "t.csv:6: expected times that rise in column 1, found time running backwards by 0.08 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s),B (V)\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(one_bare_column) {  // C9
  check_broken(
      "0.04\n" "3.28\n" "3.25\n" "0.08\n" "0.05\n" "3.31\n" "3.26\n" "0.09\n",
      {
          {"0.05", "0x.05", "t.csv:5: expected a number in column 1, found \"0x.05\""},
          {"0.05", "inf", "t.csv:5: expected a number in column 1, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:5: expected the end of the row in column 2, found \"9.75\""},
          {"0.05", "0,05", "t.csv:5: expected the end of the row in column 2, found \"05\""},
          {"0.05", "", ""},
          {"0.05", "\x01\x02", "t.csv, byte 20: expected text, found the byte 01"},
          {"0.05", "volts", "t.csv:5: expected a number in column 1, found \"volts\""},
          {"0.04", "O.04", "the unit of O.04 is not stated: taken as volts"},
          only_lines(1, "t.csv:1: expected at least two samples, found one sample")
      },
      {.sample_rate_hz = 2e6});
  BOOST_TEST(pulsewright::tests::refusal("0.04\n3.28\n3.25\n") == "t.csv:1: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found values without a time base");
}

BOOST_AUTO_TEST_CASE(envelope_columns) {  // C4
  check_broken(
      "TIME,CH1,CH1 Peak\n" "0.0e-06,0.04,0.045\n" "1.0e-06,3.28,3.285\n" "2.0e-06,3.25,3.255\n" "3.0e-06,0.08,0.085\n"
      "4.0e-06,0.05,0.055\n" "5.0e-06,3.31,3.315\n" "6.0e-06,3.26,3.265\n" "7.0e-06,0.09,0.095\n",
      {
          {"0.055", "0x.055", "t.csv:6: expected a number in column 3, found \"0x.055\""},
          {"0.055", "inf", "t.csv:6: expected a number in column 3, found \"inf\""},
          {"0.055", "0.055,9.75", "t.csv:6: expected the end of the row in column 4, found \"9.75\""},
          {"0.055", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.055", "0,055", "t.csv:6: expected the end of the row in column 4, found \"055\""},
          {"0.055", "\x01\x02", "t.csv, byte 107: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"CH1 Peak", "CH2", "the unit of CH2 is not stated: taken as volts"},
          {"3.0e-06,0.08,0.085\n4.0e-06,0.05,0.055\n", "4.0e-06,0.05,0.055\n3.0e-06,0.08,0.085\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,0.055\n", "4.0e-06,0.05,0.055\n4.0e-06,0.05,0.055\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,0.055\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"TIME,CH1,CH1 Peak\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(envelope_rows) {  // C4
  check_broken(
      "TIME,CH1\n" "0.0e-06,0.04\n" "0.0e-06,3.28\n" "1.0e-06,3.25\n" "1.0e-06,0.08\n" "2.0e-06,0.05\n" "2.0e-06,3.31\n"
      "3.0e-06,3.26\n" "3.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (rows without values between): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 69: expected text, found the byte 01"},
          {"2.0e-06,0.05\n", "", "t.csv:7: expected two rows at each time, as above in column 1, found \"3.0e-06\""},
          {"2.0e-06,0.05", "1.0e-06,0.05", "t.csv:6: expected two rows at each time, as above in column 1, found \"1.0e-06\""},
          {"2.0e-06,0.05", "2.q,0.05", "t.csv:6: expected a time in column 1, found \"2.q\""},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"TIME,CH1\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(math_and_reference_columns) {  // C5
  check_broken(
      "axis,1,MATH1\n" "second,Volt,Volt\n" "0.0e-06,0.04,0.09\n" "1.0e-06,3.28,3.26\n" "2.0e-06,3.25,3.31\n" "3.0e-06,0.08,0.05\n"
      "4.0e-06,0.05,0.08\n" "5.0e-06,3.31,3.25\n" "6.0e-06,3.26,3.28\n" "7.0e-06,0.09,0.04\n",
      {
          {"0.08\n", "0x.08\n", "t.csv:7: expected a voltage in column 3, found \"0x.08\""},
          {"0.08\n", "inf\n", "t.csv:7: expected a voltage in column 3, found \"inf\""},
          {"0.08\n", "0.08,9.75\n", "t.csv:7: expected the end of the row in column 4, found \"9.75\""},
          {"0.08\n", "\n", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.08\n", "0,08\n", "t.csv:7: expected the end of the row in column 4, found \"08\""},
          {"0.08\n", "\x01\x02\n", "t.csv, byte 115: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:7: expected a time in column 1, found \"4.0e-0q6\""},
          {"3.0e-06,0.08,0.05\n4.0e-06,0.05,0.08\n", "4.0e-06,0.05,0.08\n3.0e-06,0.08,0.05\n", "t.csv:7: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,0.08\n", "4.0e-06,0.05,0.08\n4.0e-06,0.05,0.08\n", "t.csv:8: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,0.08\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(2, "t.csv:1: expected a waveform, found text without columns of numbers, \"axis,1,MATH1\""),
          only_lines(3, "t.csv:3: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(rows_without_values) {  // C6
  check_broken(
      "t,a,b\n" "0.0e-06,,\n" "1.0e-06,3.28,3.26\n" "2.0e-06,3.25,3.31\n" "3.0e-06,0.08,0.05\n" "4.0e-06,0.05,0.08\n"
      "5.0e-06,3.31,3.25\n" "6.0e-06,3.26,3.28\n" "7.0e-06,,\n",
      {
          {"0.08\n", "0x.08\n", "t.csv:6: expected a number in column 3, found \"0x.08\""},
          {"0.08\n", "inf\n", "t.csv:6: expected a number in column 3, found \"inf\""},
          {"0.08\n", "0.08,9.75\n", "t.csv:6: expected the end of the row in column 4, found \"9.75\""},
          {"0.08\n", "\n", "the file holds 2 records (gaps in time): record 1 with 3 rows is used | 3 rows without a value left out"},
          {"0.08\n", "0,08\n", "t.csv:6: expected the end of the row in column 4, found \"08\""},
          {"0.08\n", "\x01\x02\n", "t.csv, byte 83: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"3.0e-06,0.08,0.05\n4.0e-06,0.05,0.08\n", "4.0e-06,0.05,0.08\n3.0e-06,0.08,0.05\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,0.08\n", "4.0e-06,0.05,0.08\n4.0e-06,0.05,0.08\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,0.08\n", "", "the file holds 2 records (gaps in time): record 1 with 3 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"t,a,b\""),
          only_lines(2, "t.csv:2: expected a column of values, found none beside the time or index")
      });
}

BOOST_AUTO_TEST_CASE(trailing_separators_that_come_and_go) {  // C7
  check_broken(
      "TIME,CH1,,\n" "0.0e-06,0.04,\n" "1.0e-06,3.28\n" "2.0e-06,3.25,,\n" "3.0e-06,0.08\n" "4.0e-06,0.05,\n" "5.0e-06,3.31\n"
      "6.0e-06,3.26,,\n" "7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 74: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"3.0e-06,0.08\n4.0e-06,0.05,\n", "4.0e-06,0.05,\n3.0e-06,0.08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,\n", "4.0e-06,0.05,\n4.0e-06,0.05,\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"TIME,CH1,,\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(adc_counts) {  // C8
  check_broken(
      "Sample Period,4.0E-06,\n" "Data\n" "-12\n" "-11\n" "37\n" "36\n" "-10\n" "-9\n" "38\n" "35\n",
      {
          {"-10", "-x10", "t.csv:7: expected a number in column 1, found \"-x10\""},
          {"-10", "inf", "t.csv:7: expected a number in column 1, found \"inf\""},
          {"-10", "-10,9.75", "t.csv:7: expected the end of the row in column 2, found \"9.75\""},
          {"-10", "\x01\x02", "t.csv, byte 42: expected text, found the byte 01"},
          {"4.0E-06", "0", "t.csv:3: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found values without a time base"},
          only_lines(2, "t.csv:1: expected a waveform, found text without columns of numbers, \"Sample Period,4.0E-06,\""),
          only_lines(3, "t.csv:3: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(numbers_near_zero) {  // C10
  check_broken(
      "Time (s),A (V)\n" "0.0e-06,0.02\n" "1.0e-06,-2.1e-08\n" "2.0e-06,0.04\n" "3.0e-06,-3.1e-08\n" "4.0e-06,0.06\n"
      "5.0e-06,4.1e-08\n" "6.0e-06,0.08\n" "7.0e-06,0.10\n",
      {
          {"0.06", "0x.06", "t.csv:6: expected a voltage in column 2, found \"0x.06\""},
          {"0.06", "inf", "t.csv:6: expected a voltage in column 2, found \"inf\""},
          {"0.06", "0.06,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.06", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.06", "0,06", "t.csv:6: expected the end of the row in column 3, found \"06\""},
          {"0.06", "\x01\x02", "t.csv, byte 83: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"-3.1e-08", "-3.1e-", "t.csv:5: expected a voltage in column 2, found \"-3.1e-\""},
          {"-3.1e-08", "-3.1e+99", "t.csv:5: expected a voltage in column 2, found \"-3.1e+99\""},
          {"3.0e-06,-3.1e-08\n4.0e-06,0.06\n", "4.0e-06,0.06\n3.0e-06,-3.1e-08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.06\n", "4.0e-06,0.06\n4.0e-06,0.06\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.06\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s),A (V)\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_SUITE_END()
