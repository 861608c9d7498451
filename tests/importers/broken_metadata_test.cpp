// Where the metadata stand: each shape of it, each way to break it, and the whole answer.

#include "tests/importers/broken_shapes.hpp"

using pulsewright::tests::check_broken;
using pulsewright::tests::only_lines;

BOOST_AUTO_TEST_SUITE(broken_metadata)

BOOST_AUTO_TEST_CASE(key_and_value_lines_above) {  // B1
  check_broken(
      "Points,8,\n" "\n" "Vertical Units,V,V\n" "Interval,1e-06\n" "TIME,CH1,CH2\n" "0.0e-06,0.04,0.09\n" "1.0e-06,3.28,3.26\n"
      "2.0e-06,3.25,3.31\n" "3.0e-06,0.08,0.05\n" "4.0e-06,0.05,0.08\n" "5.0e-06,3.31,3.25\n" "6.0e-06,3.26,3.28\n"
      "7.0e-06,0.09,0.04\n",
      {
          {"0.08\n", "0x.08\n", "t.csv:10: expected a voltage in column 3, found \"0x.08\""},
          {"0.08\n", "inf\n", "t.csv:10: expected a voltage in column 3, found \"inf\""},
          {"0.08\n", "0.08,9.75\n", "t.csv:10: expected the end of the row in column 4, found \"9.75\""},
          {"0.08\n", "\n", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"0.08\n", "0,08\n", "t.csv:10: expected the end of the row in column 4, found \"08\""},
          {"0.08\n", "\x01\x02\n", "t.csv, byte 143: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:10: expected a time in column 1, found \"4.0e-0q6\""},
          {"Points,8", "Points,9", "the header announces 9 samples, the file holds 8"},
          {"Points,8", "Points,8.5", "\"Points\" in the header is \"8.5\": not used"},
          {"Interval,1e-06", "Interval,2e-06", "\"Interval\" in the header says 2e-06 s a sample, the time column 1e-06 s: the time column is used"},
          {"V,V", "V,kg", "the unit of CH2 is not stated: taken as volts"},
          {"TIME,CH1,CH2\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily"},
          {"Points", "Poin\x01ts", "t.csv, byte 0: expected delimited text, WAV, VCD or any of these gzip-compressed, found binary data beginning with the bytes 50 6f 69 6e 01 74 73 2c"},
          {"3.0e-06,0.08,0.05\n4.0e-06,0.05,0.08\n", "4.0e-06,0.05,0.08\n3.0e-06,0.08,0.05\n", "t.csv:10: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05,0.08\n", "4.0e-06,0.05,0.08\n4.0e-06,0.05,0.08\n", "t.csv:11: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05,0.08\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | the header announces 8 samples, the file holds 7"},
          only_lines(5, "t.csv:1: expected a waveform, found text without columns of numbers, \"Points,8,\""),
          only_lines(6, "t.csv:6: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(metadata_left_of_the_samples) {  // B2
  check_broken(
      "Points,8,,0.0e-06,0.04\n" "Interval,1e-06,,1.0e-06,3.28\n" "Source,CH1,,2.0e-06,3.25\n" ",,,3.0e-06,0.08\n" ",,,4.0e-06,0.05\n"
      ",,,5.0e-06,3.31\n" ",,,6.0e-06,3.26\n" ",,,7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:5: expected a number in column 5, found \"0x.05\""},
          {"0.05", "inf", "t.csv:5: expected a number in column 5, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:5: expected the end of the row in column 6, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"0.05", "0,05", "t.csv:5: expected the end of the row in column 6, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 104: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:5: expected a time in column 4, found \"4.0e-0q6\""},
          {"Points,8", "Points,9", "the header announces 9 samples, the file holds 8"},
          {"Interval,1e-06", "Interval,2e-06", "\"Interval\" in the header says 2e-06 s a sample, the time column 1e-06 s: the time column is used"},
          {",,,3.0e-06,0.08\n,,,4.0e-06,0.05\n", ",,,4.0e-06,0.05\n,,,3.0e-06,0.08\n", "t.csv:5: expected times that rise in column 4, found time running backwards by 1e-06 s"},
          {",,,4.0e-06,0.05\n", ",,,4.0e-06,0.05\n,,,4.0e-06,0.05\n", "t.csv:6: expected samples at even steps of time in column 4, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {",,,4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | the header announces 8 samples, the file holds 7"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Points,8,,0.0e-06,0.04\"")
      });
}

BOOST_AUTO_TEST_CASE(metadata_right_of_the_samples) {  // B3
  check_broken(
      "col 1,col 2,,,,Points,8\n" "0.0e-06,0.04,,,,Interval,1e-06\n" "1.0e-06,3.28,,,,Source,CH1\n" "2.0e-06,3.25\n" "3.0e-06,0.08\n"
      "4.0e-06,0.05\n" "5.0e-06,3.31\n" "6.0e-06,3.26\n" "7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:6: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:6: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:6: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"0.05", "0,05", "t.csv:6: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 116: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"Points,8", "Points,9", "the header announces 9 samples, the file holds 8"},
          {"Interval,1e-06", "Interval,2e-06", "\"Interval\" in the header says 2e-06 s a sample, the time column 1e-06 s: the time column is used"},
          {",,,,Source,CH1", ",9.5", "t.csv:3: expected the end of the row in column 3, found \"9.5\""},
          {"3.0e-06,0.08\n4.0e-06,0.05\n", "4.0e-06,0.05\n3.0e-06,0.08\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05\n", "4.0e-06,0.05\n4.0e-06,0.05\n", "t.csv:7: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | the header announces 8 samples, the file holds 7"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"col 1,col 2,,,,Points,8\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(comment_lines_above) {  // B4
  check_broken(
      ";Samples,8\n" ";Rate,1e+06\n" "Sample,Time(S),CH1(V)\n" "0,0.0e-06,0.04\n" "1,1.0e-06,3.28\n" "2,2.0e-06,3.25\n"
      "3,3.0e-06,0.08\n" "4,4.0e-06,0.05\n" "5,5.0e-06,3.31\n" "6,6.0e-06,3.26\n" "7,7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:8: expected a voltage in column 3, found \"0x.05\""},
          {"0.05", "inf", "t.csv:8: expected a voltage in column 3, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:8: expected the end of the row in column 4, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out | the header announces 8 samples, the file holds 7"},
          {"0.05", "0,05", "t.csv:8: expected the end of the row in column 4, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 115: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:8: expected a time in column 2, found \"4.0e-0q6\""},
          {";Samples,8", ";Samples,9", "the header announces 9 samples, the file holds 8"},
          {"1e+06", "1e+07", "\"Rate\" in the header says 1e-07 s a sample, the time column 1e-06 s: the time column is used"},
          {"3,3.0e-06,0.08\n4,4.0e-06,0.05\n", "4,4.0e-06,0.05\n3,3.0e-06,0.08\n", "t.csv:8: expected times that rise in column 2, found time running backwards by 1e-06 s"},
          {"4,4.0e-06,0.05\n", "4,4.0e-06,0.05\n4,4.0e-06,0.05\n", "t.csv:9: expected samples at even steps of time in column 2, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4,4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | the header announces 8 samples, the file holds 7"},
          only_lines(3, "t.csv:1: expected a waveform, found text without columns of numbers, \";Samples,8\""),
          only_lines(4, "t.csv:4: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(segments) {  // B5
  check_broken(
      "Segments\t2\tSegmentSize\t4\n" "Segment\tTrigTime\tTimeSinceFirst\n" "#1\t06-May-2031 07:08:09\t0\n"
      "#2\t06-May-2031 07:08:09\t0.0021\n" "Time\tAmpl\n" "0.0e-06\t0.04\n" "1.0e-06\t3.28\n" "2.0e-06\t3.25\n" "3.0e-06\t0.08\n"
      "0.0e-06\t0.05\n" "1.0e-06\t3.31\n" "2.0e-06\t3.26\n" "3.0e-06\t0.09\n",
      {
          {"0.05", "0x.05", "t.csv:10: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:10: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05\t9.75", "t.csv:10: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "1 row without a value left out"},
          {"0.05", "\x01\x02", "t.csv, byte 184: expected text, found the byte 01"},
          {"3.0e-06\t0.08\n", "", "the file holds 2 records (time starts again): record 2 with 4 rows is used"},
          {"2.0e-06\t3.26\n", "2.q\t3.26\n", "t.csv:12: expected a time in column 1, found \"2.q\""},
          {"2.0e-06\t3.26\n", "0.5e-06\t3.26\n", "the file holds 4 records (time starts again, gaps in time): record 1 with 4 rows is used"},
          {"SegmentSize\t4", "SegmentSize\t5", "the header announces 5 samples, the file holds 8"},
          only_lines(5, "t.csv:1: expected a waveform, found text without columns of numbers, \"Segments?2?SegmentSize?4\""),
          only_lines(6, "t.csv:6: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(lines_that_look_like_what_they_are_not) {  // B6
  check_broken(
      "Time,06-May-31 07:08:09,\n" "Horizontal Units,us\n" "Old Horizontal Scale,2.0E-02\n" "Label,,\n" ",\n" "Format,Y,,,xy\n"
      "TIME,CH1\n" "0.0e-06,0.04\n" "1.0e-06,3.28\n" "2.0e-06,3.25\n" "3.0e-06,0.08\n" "4.0e-06,0.05\n" "5.0e-06,3.31\n"
      "6.0e-06,3.26\n" "7.0e-06,0.09\n",
      {
          {"0.05", "0x.05", "t.csv:12: expected a number in column 2, found \"0x.05\""},
          {"0.05", "inf", "t.csv:12: expected a number in column 2, found \"inf\""},
          {"0.05", "0.05,9.75", "t.csv:12: expected the end of the row in column 3, found \"9.75\""},
          {"0.05", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used | 1 row without a value left out"},
          {"0.05", "0,05", "t.csv:12: expected the end of the row in column 3, found \"05\""},
          {"0.05", "\x01\x02", "t.csv, byte 167: expected text, found the byte 01"},
          {"4.0e-06", "4.0e-0q6", "t.csv:12: expected a time in column 1, found \"4.0e-0q6\""},
          {"TIME,CH1\n", "", "column 1 (\"Format\") is taken as time in seconds, since it rises steadily | the unit of Y is not stated: taken as volts"},
          {"3.0e-06,0.08\n4.0e-06,0.05\n", "4.0e-06,0.05\n3.0e-06,0.08\n", "t.csv:12: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          {"4.0e-06,0.05\n", "4.0e-06,0.05\n4.0e-06,0.05\n", "t.csv:13: expected samples at even steps of time in column 1, found a step of 0 s among steps from 0 s to 1e-06 s"},
          {"4.0e-06,0.05\n", "", "the file holds 2 records (gaps in time): record 1 with 4 rows is used"},
          only_lines(7, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time,06-May-31 07:08:09,\""),
          only_lines(8, "t.csv:8: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_SUITE_END()
