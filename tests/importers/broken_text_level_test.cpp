// Separators, marks and suffixes: each shape of it, each way to break it, and the whole answer.

#include "tests/importers/broken_shapes.hpp"

using pulsewright::tests::check_broken;
using pulsewright::tests::only_lines;

BOOST_AUTO_TEST_SUITE(broken_text_level)

BOOST_AUTO_TEST_CASE(two_characters_at_the_end_of_a_line) {  // E1
  check_broken(
      "Time (s),A (V)\r\n" "0.0e-06,0.04\r\n" "1.0e-06,3.28\r\n" "2.0e-06,3.25\r\n" "3.0e-06,0.08\r\n" "4.0e-06,0.05\r\n" "5.0e-06,3.31\r\n"
      "6.0e-06,3.26\r\n" "7.0e-06,0.09\r\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a voltage in column 2, found \"0x.05\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05\r\n", "0.05\r", "t.csv:6: expected lines that all end in a line feed, found a carriage return inside a line"},
          {"0.05\r\n", "0.05\n", ""},
          {"0.05\r\n", "0.05\r\r\n", ""},
          {"0.05\r\n", "0.05", "t.csv:6: expected a voltage in column 2, found \"0.055.0e-06\""},
          {"0.05\r\n", "0.05\r\n\r\n", ""},
          {"0.05", "0.\r05", "t.csv:6: expected lines that all end in a line feed, found a carriage return inside a line"},
          {"0.09\r\n", "0.09\r", ""},
          {"0.09\r\n", "0.09", ""},
          {"7.0e-06,0.09\r\n", "7.0e-06,\r", "the last line has no line end and may be cut in mid-row: not used, 7 rows are"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"4.0e-06,0.05\r\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s),A (V)\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(tabs) {  // E2
  check_broken(
      "Time (s)\tA (V)\n" "0.0e-06\t0.04\n" "1.0e-06\t3.28\n" "2.0e-06\t3.25\n" "3.0e-06\t0.08\n" "4.0e-06\t0.05\n" "5.0e-06\t3.31\n"
      "6.0e-06\t3.26\n" "7.0e-06\t0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a voltage in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a voltage in column 2, found \"inf\""},
          {"0.05", "0.05\t9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "\x01\x02", "t.csv, byte 75: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"3.0e-06\t0.08\n4.0e-06\t0.05\n", "4.0e-06\t0.05\n3.0e-06\t0.08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06\t0.05\n", "4.0e-06\t0.05\n4.0e-06\t0.05\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06\t0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s)?A (V)\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(semicolons_and_decimal_commas) {  // E3
  check_broken(
      "time_s;A_V\n" "0,0e-06;0,04\n" "1,0e-06;3,28\n" "2,0e-06;3,25\n" "3,0e-06;0,08\n" "4,0e-06;0,05\n" "5,0e-06;3,31\n"
      "6,0e-06;3,26\n" "7,0e-06;0,09\n",
      {
          {"0,05", "0x,05", "t.csv:6: expected a voltage in column 2, found \"0x,05\""},
          {"0,05", "inf,05", "t.csv:6: expected a voltage in column 2, found \"inf,05\""},
          {"0,05", "0;9.75,05", "column 3 () holds no numbers and is left out"},
          {"0,05", "\x01\x02,05", "t.csv, byte 71: expected text, found the byte 01"},
          {"4,0e-06", "4,0e-0q6", "t.csv:6: expected a time in column 1, found \"4,0e-0q6\""},
          {"0,05", "0.05", "t.csv:6: expected a voltage in column 2, found \"0.05\""},
          {"time_s;A_V\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | the unit of channel 1 is not stated: taken as volts"},
          {"3,0e-06;0,08\n4,0e-06;0,05\n", "4,0e-06;0,05\n3,0e-06;0,08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4,0e-06;0,05\n", "4,0e-06;0,05\n4,0e-06;0,05\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4,0e-06;0,05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"time_s;A_V\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(byte_order_mark) {  // E4
  check_broken(
      "\xef\xbb\xbfPoints,8\n" "Time (s),A (V)\n" "0.0e-06,0.04\n" "1.0e-06,3.28\n" "2.0e-06,3.25\n" "3.0e-06,0.08\n" "4.0e-06,0.05\n"
      "5.0e-06,3.31\n" "6.0e-06,3.26\n" "7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:7: expected a voltage in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:7: expected a voltage in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:7: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"0.05", "0,05", "t.csv:7: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 87: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:7: expected a time in column 1, found \"4.0e-0q6\""},
          {"Points,8", "Points,9", "the header announces 9 samples, the file holds 8"},
          {"3.0e-06,0.08\n4.0e-06,0.05\n", "4.0e-06,0.05\n3.0e-06,0.08\n", "t.csv:7: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05\n", "4.0e-06,0.05\n4.0e-06,0.05\n", "t.csv:8: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | the header announces 8 samples, the file holds 7"},
          only_lines(2, "t.csv:1: expected a waveform, found text without columns of numbers, \"Points,8\""),
          only_lines(3, "t.csv:3: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(numbers_as_people_print_them) {  // E5
  check_broken(
      "t,a\n" "00.000000,  +40.00E-03\n" "00.000001,  +3.28E+00\n" "00.000002,  3.2500000000000001\n" "00.000003,  0.0800\n"
      "00.000004,  -0.0012340000000000001\n" "00.000005,  3.31\n" "00.000006,  3.26E+00\n" "00.000007,  0.09\n",
      {
          {"-0.0012340000000000001", "-0.001234000000.0000001", "t.csv:6: expected a number in column 2, found \"-0.001234000000.0000001\""},
          {"-0.0012340000000000001", "--0.0012340000000000001", "t.csv:6: expected a number in column 2, found \"--0.0012340000000000001\""},
          {"-0.0012340000000000001", "- 0.0012340000000000001", "t.csv:6: expected a number in column 2, found \"- 0.0012340000000000001\""},
          {"-0.0012340000000000001", "-0.001 2340000000000001", "t.csv:6: expected a number in column 2, found \"-0.001 2340000000000001\""},
          {"-0.0012340000000000001", "-0.0012340000000000001E", "t.csv:6: expected a number in column 2, found \"-0.0012340000000000001E\""},
          {"-0.0012340000000000001", "-0.0012340000000000001E+", "t.csv:6: expected a number in column 2, found \"-0.0012340000000000001E+\""},
          {"-0.0012340000000000001", "-0.0012E+400", "t.csv:6: expected a number in column 2, found \"-0.0012E+400\""},
          {"-0.0012340000000000001", "", "the file holds 2 records (rows without values between): record 1 with 4 rows is used | 1 row without a value left out"},
          {"-0.0012340000000000001", "0x1.8p+1", "t.csv:6: expected a number in column 2, found \"0x1.8p+1\""},
          {"00.000004", "00.0000O4", "t.csv:6: expected a time in column 1, found \"00.0000O4\""},
          {"00.000004", "00,000004", "t.csv:6: expected the end of the row in column 3, found \"-0.0012340000000000001\""},
          {"00.000004,", "00.000002,", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"+3.28E+00", "+3,28E+00", "t.csv:3: expected the end of the row in column 3, found \"28E+00\""},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"t,a\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(suffixes_in_cells) {  // E6
  check_broken(
      "t;a\n" "12.0 us;0.04\n" "12.5 us;3.28\n" "13.0 us;3.25\n" "13.5 us;0.08\n" "14.0 us;0.05\n" "14.5 us;3.31\n" "15.0 us;3.26\n"
      "15.5 us;0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05;9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "\x01\x02", "t.csv, byte 64: expected text, found the byte 01"},
          {"14.0 us", "14.0 uqs", "t.csv:6: expected a time in column 1, found \"14.0 uqs\""},
          {"14.0 us", "14.0 kg", "t.csv:6: expected a time in column 1, found \"14.0 kg\""},
          {"14.0 us", "14.0 ms", "the file holds 3 records (time starts again, gaps in time): record 1 with 4 rows is used"},
          {"14.0 us", "14.0", "t.csv:2: expected a unit behind every number of a column or behind none in column 1, found \"12.0 us\""},
          {"0.05", "0.05 dB", "t.csv:6: expected a number in column 2, found \"0.05 dB\""},
          {"13.5 us;0.08\n14.0 us;0.05\n", "14.0 us;0.05\n13.5 us;0.08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 5e-07 s"},
          {"14.0 us;0.05\n", "14.0 us;0.05\n14.0 us;0.05\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 5e-07 s"},
          {"14.0 us;0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"t;a\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_SUITE_END()
