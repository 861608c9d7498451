// Logic data: each shape of it, each way to break it, and the whole answer.

#include "tests/importers/broken_shapes.hpp"

using pulsewright::tests::check_broken;
using pulsewright::tests::only_lines;

BOOST_AUTO_TEST_SUITE(broken_logic)

BOOST_AUTO_TEST_CASE(changes_of_one_line) {  // D1
  check_broken(
      "Time [s],Line 0\n" "0.000000000,0\n" "0.000001550,1\n" "0.000002500,0\n" "0.000004050,1\n" "0.000005000,0\n" "0.000006550,1\n"
      "0.000007500,0\n" "0.000009050,1\n",
      {
          {"0.000005000", "0.00000500q0", "t.csv:6: expected a time in column 1, found \"0.00000500q0\""},
          {"0.000005000,0", "0.000005000,2", "t.csv:4: expected samples at even steps of time in column 1, found a step of 9.5e-07 s among steps from 9.5e-07 s to 1.55e-06 s"},
          {"0.000005000,0", "0.000005000,L", "t.csv:6: expected a logic level in column 2, found \"L\""},
          {"0.000005000,0", "0.000005000,X", "1 unknown logic state: the level before is held"},
          {"0.000005000,0", "0.000005000", "1 unknown logic state: the level before is held"},
          {"0.000005000,0", "0.000005000,0.5", "t.csv:4: expected samples at even steps of time in column 1, found a step of 9.5e-07 s among steps from 9.5e-07 s to 1.55e-06 s"},
          {"0.000005000,0", "0.000005000,nan", "1 unknown logic state: the level before is held"},
          {"Time [s],Line 0\n", "", "column 1 (without a name) is taken as time in seconds, since it rises steadily | channel 1 holds only 0 and 1 without a unit: read as logic"},
          {"Time [s]", "Time [kg]", "t.csv:1: expected a unit of time (s, ms, us, ns) or a rate given with --sample-rate in column 1, found \"kg\""},
          {"0.000004050,1\n0.000005000,0\n", "0.000005000,0\n0.000004050,1\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 9.5e-07 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time [s],Line 0\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(changes_of_many_lines) {  // D2
  check_broken(
      "Time [s],clk,data\n" "0.000000000,0,0\n" "0.000001550,1,0\n" "0.000002500,0,0\n" "0.000004050,1,1\n" "0.000005000,0,1\n"
      "0.000006550,1,1\n" "0.000007500,0,0\n" "0.000009050,1,0\n",
      {
          {"0.000005000", "0.00000500q0", "t.csv:6: expected a time in column 1, found \"0.00000500q0\""},
          {"0.000005000,0,1", "0.000005000,0,3", "column 3 (data) is a bus and left out | clk holds only 0 and 1 without a unit: read as logic"},
          {"0.000005000,0,1", "0.000005000,0,high", "t.csv:6: expected a logic level in column 3, found \"high\""},
          {"0.000005000,0,1", "0.000005000,0", "1 unknown logic state: the level before is held"},
          {"0.000005000,0,1", "0.000005000,,", "2 unknown logic states: the level before is held"},
          {"0.000004050,1,1\n0.000005000,0,1\n", "0.000005000,0,1\n0.000004050,1,1\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 9.5e-07 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time [s],clk,data\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(changes_without_a_header) {  // D3
  check_broken(
      "0.000001550, 0\n" "0.000002500, 1\n" "0.000004050, 0\n" "0.000005000, 1\n" "0.000006550, 0\n" "0.000007500, 1\n"
      "0.000009050, 0\n" "0.000010000, 1\n",
      {
          {"0.000006550", "0.00000655q0", "t.csv:5: expected a time in column 1, found \"0.00000655q0\""},
          {"0.000006550, 0", "0.000006550, H", "t.csv:5: expected a logic level in column 2, found \"H\""},
          {"0.000006550, 0", "0.000006550, 0, 1", "t.csv:5: expected the end of the row in column 3, found \"1\""},
          {"0.000005000, 1\n0.000006550, 0\n", "0.000006550, 0\n0.000005000, 1\n", "t.csv:5: expected times that rise in column 1, found time running backwards by 1.55e-06 s"},
          only_lines(1, "t.csv:1: expected a time column, a sample interval in the header, or a sample rate given with --sample-rate, found values without a time base")
      });
}

BOOST_AUTO_TEST_CASE(sampled_bits_and_a_bus) {  // D4
  check_broken(
      "Time (s),Bus,D1,D0\n" "0.0e-06,512,0,0\n" "1.0e-06,513,0,0\n" "2.0e-06,514,0,1\n" "3.0e-06,515,1,1\n" "4.0e-06,516,1,0\n"
      "5.0e-06,517,1,0\n" "6.0e-06,518,0,1\n" "7.0e-06,519,0,1\n",
      {
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"516,1,0", "516,1,U?", "t.csv:6: expected a logic level in column 4, found \"U?\""},
          {"516,1,0", "516,1,Z", "1 unknown logic state: the level before is held"},
          {"516,1,0", "516,1", "1 unknown logic state: the level before is held"},
          {"516,1,0", "516,1,0,1", "t.csv:6: expected the end of the row in column 5, found \"1\""},
          {"D1,D0", "D1", "D1, channel 2 hold only 0 and 1 without a unit: read as logic"},
          {"3.0e-06,515,1,1\n4.0e-06,516,1,0\n", "4.0e-06,516,1,0\n3.0e-06,515,1,1\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s),Bus,D1,D0\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(unknown_states_and_words_in_a_bus) {  // D5
  check_broken(
      "Time (s),Bus,D1,D0\n" "0.0e-06,h70,0,0\n" "1.0e-06,h71,0,0\n" "2.0e-06,h72,0,X\n" "3.0e-06,h73,1,1\n" "4.0e-06,h74,1,0\n"
      "5.0e-06,h75,1,0\n" "6.0e-06,h76,0,1\n" "7.0e-06,h77,0,1\n",
      {
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"h74,1,0", "h74,1,W", "t.csv:6: expected a logic level in column 4, found \"W\""},
          {"3.0e-06,h73,1,1\n4.0e-06,h74,1,0\n", "4.0e-06,h74,1,0\n3.0e-06,h73,1,1\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time (s),Bus,D1,D0\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_CASE(quoted_names) {  // D6
  check_broken(
      "\"Time\",\"D1\",\"D0\"\n" "0.0e-06,0,0\n" "1.0e-06,0,0\n" "2.0e-06,0,1\n" "3.0e-06,1,1\n" "4.0e-06,1,0\n" "5.0e-06,1,0\n"
      "6.0e-06,0,1\n" "7.0e-06,0,1\n",
      {
          {"4.0e-06", "4.0e-0q6", "t.csv:6: expected a time in column 1, found \"4.0e-0q6\""},
          {"\"D1\",\"D0\"", "\"D1,\"D0\"", "D1,\"D0, channel 2 hold only 0 and 1 without a unit: read as logic"},
          {"3.0e-06,1,1\n4.0e-06,1,0\n", "4.0e-06,1,0\n3.0e-06,1,1\n", "t.csv:6: expected times that rise in column 1, found time running backwards by 1e-06 s"},
          only_lines(1, "t.csv:1: expected a waveform, found text without columns of numbers, \"Time\",\"D1\",\"D0\""),
          only_lines(2, "t.csv:2: expected at least two samples, found one sample")
      });
}

BOOST_AUTO_TEST_SUITE_END()
