// Four-state value change dumps. Syntax: IEEE Std 1364-2005 clause 18.2 (from memory); the examples are invented.

#include <boost/test/unit_test.hpp>
#include <string>
#include <utility>
#include <vector>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

namespace {

using namespace pulsewright::importers;

Capture import(const std::string& text) { return import_bytes("bridge.vcd", std::as_bytes(std::span(text))); }

std::string message(const std::string& text) {
  try {
    import(text);
  } catch (const ImportError& error) {
    return error.what();
  }
  return "no error";
}

const std::string header =
    "$date today $end\n$timescale 10 ns $end\n$scope module mill $end\n$var wire 1 ! din $end\n"
    "$var reg 8 # level [7:0] $end\n$scope module pond $end\n$var wire 1 % dout $end\n$upscope $end\n$upscope $end\n"
    "$enddefinitions $end\n";
const std::string body = "#100\n$dumpvars\n0!\nx%\nb0 #\n$end\n#140\n1!\n#180\n0!\n1%\nb1010 #\n#220\nz%\n1!\n#300\n";

}  // namespace

BOOST_AUTO_TEST_SUITE(vcd)

BOOST_AUTO_TEST_CASE(scalars_of_several_scopes_on_one_time_base) {
  const Capture capture = import(header + body);
  BOOST_TEST(capture.format == "vcd");
  BOOST_TEST(capture.sample_interval_s == 1e-8);
  BOOST_TEST(capture.start_s == 1e-6, boost::test_tools::tolerance(1e-12));
  BOOST_TEST(capture.span_s == 2e-6, boost::test_tools::tolerance(1e-12));
  BOOST_TEST_REQUIRE(capture.channels.size() == 2U);
  BOOST_TEST(capture.channels[0].name == "mill.din");
  BOOST_TEST(capture.channels[1].name == "mill.pond.dout");
  const auto& changes = capture.channels[0].changes;
  BOOST_TEST_REQUIRE(changes.size() == 4U);
  BOOST_TEST(!changes[0].high);
  BOOST_TEST(changes[1].high);
  BOOST_TEST(changes[1].time_s == 1.4e-6, boost::test_tools::tolerance(1e-12));
  BOOST_TEST(changes[3].time_s == 2.2e-6, boost::test_tools::tolerance(1e-12));
  BOOST_TEST_REQUIRE(capture.notes.size() == 2U);
  BOOST_TEST(capture.notes[0] ==
             "mill.pond.dout: 2 values x or z, taken as the state before (at the start: as the first known state)");
  BOOST_TEST(capture.notes[1] == "1 variables of several bits, real or event skipped, the first level[7:0]");
}

BOOST_AUTO_TEST_CASE(every_time_scale_of_the_standard) {
  const std::pair<const char*, double> scales[]{{"1 s", 1}, {"10ms", 1e-2}, {"100 us", 1e-4}, {"1ns", 1e-9},
                                                {"10 ps", 1e-11}, {"100fs", 1e-13}};
  for (const auto& [text, tick_s] : scales) {
    const Capture capture = import(std::string("$timescale ") + text +
                                   " $end $var wire 1 a d $end $enddefinitions $end #0 0a #7 1a #9 \n");
    BOOST_TEST(capture.sample_interval_s == tick_s, boost::test_tools::tolerance(1e-15));
    BOOST_TEST(capture.channels[0].changes[1].time_s == 7 * tick_s, boost::test_tools::tolerance(1e-15));
  }
}

BOOST_AUTO_TEST_CASE(each_way_to_break_a_dump_has_its_message) {
  const std::string good = "$timescale 10 ns $end\n$scope module mill $end\n$var wire 1 ! din $end\n$upscope $end\n$enddefinitions $end\n"
                           "#0\n0!\n#40\n1!\n#80\n0!\n#100\n";
  BOOST_TEST_REQUIRE(message(good) == "no error");
  struct Break {
    std::string from, to, place_and_words;
  };
  const std::string scale = "expected a time scale of 1, 10 or 100 s, ms, us, ns, ps or fs, found ";
  const Break ways[]{
      {"10 ns", "20 ns", "1: " + scale + "\"20ns\""},
      {"10 ns", "10 ks", "1: " + scale + "\"10ks\""},
      {"10 ns", "", "1: " + scale + "\"\""},
      {"$scope", "$timescale 1 ns $end\n$scope", "2: expected one $timescale, found another"},
      {"$timescale 10 ns $end\n", "", "4: expected a $timescale before the first value, found none"},
      {"$scope", "$skope", "4: expected a $scope before $upscope, found none"},
      {"$upscope", "upscope", "4: expected a declaration such as $var, found \"upscope\""},
      {"wire 1", "wire one", "3: expected a size in bits, found \"one\""},
      {"wire 1", "wire 0", "3: expected a size in bits, found \"0\""},
      {"wire 1", "wire 8", "5: expected at least one one-bit $var, found none"},
      {"wire 1 ! din ", "wire 1 ", "3: expected an identifier code, found \"$end\""},
      {"wire 1 ! din ", "wire ", "3: expected a size in bits, found \"$end\""},
      {"! din ", "! ", "3: expected a variable name, found \"$end\""},
      {"din $end", "din", "4: expected $end of $var, found \"$upscope\""},
      {"$enddefinitions $end\n", "", "5: expected a declaration such as $var, found \"#0\""},
      {"\n1!", "\nq!", "9: expected a time or a value change, found \"q!\""},
      {"\n1!", "\n2!", "9: expected a time or a value change, found \"2!\""},
      {"\n1!", "\n\x01\xff", "9: expected a time or a value change, found \"??\""},
      {"\n1!", "\n1?", "9: expected an identifier code declared by $var, found \"?\""},
      {"\n1!", "\n1", "9: expected an identifier code declared by $var, found nothing"},
      {"\n1!", "\n$foo", "9: expected a time, a value change or $dumpvars, found \"$foo\""},
      {"#40", "$var wire 1 % x $end\n#40", "8: expected a time, a value change or $dumpvars, found \"$var\""},
      {"#40", "#4x", "8: expected a time in whole ticks after #, found \"4x\""},
      {"#40", "#-4", "8: expected a time in whole ticks after #, found \"-4\""},
      {"#40", "#4.5", "8: expected a time in whole ticks after #, found \"4.5\""},
      {"#40", "#18446744073709551616", "8: expected a time in whole ticks after #, found \"18446744073709551616\""},
      {"#40", "#90", "10: expected a time of at least #90, found #80: time runs backwards"},
      {"#40", "$comment", "13: expected $end of $comment, found the end of the file"},
      {"#0\n0!\n#40\n1!\n#80\n0!\n#100\n", "", "6: expected times and value changes of a one-bit variable, found none"},
      {"#0\n0!\n#40\n1!\n#80\n0!\n#100\n", "0!\n1!\n", "8: expected times and value changes of a one-bit variable, found none"},
      {"#0\n0!\n#40\n1!\n#80\n0!\n#100\n", "#0\nx!\n#40\nz!\n", "10: expected times and value changes of a one-bit variable, found none"},
  };
  for (const Break& way : ways)
    BOOST_TEST_CONTEXT(way.from << " -> " << way.to) {
      std::string text = good;
      const auto at = text.find(way.from);
      BOOST_TEST_REQUIRE(at != std::string::npos);
      BOOST_TEST(message(text.replace(at, way.from.size(), way.to)) == "bridge.vcd:" + way.place_and_words);
    }
}

BOOST_AUTO_TEST_CASE(comments_and_stretches_without_dump_change_nothing_else) {
  const std::string dump = "$timescale\n  10\n ns\n$end\r\n$scope module mill $end $var wire 1 ! din $end $var real 64 r v $end $upscope $end $enddefinitions $end\n"
                           "#0\n$dumpvars 0! r0.5 r $end\n#4 $comment 0! #3 $end b0001 !\n#5 $dumpoff x! $end\n#7 $dumpon 1! $end r1e-3 r\n#0008 B0 !\n#9 Z!\n#10 1!\n#12 $dumpall 1! $end\n";
  const Capture capture = import(dump);
  const std::vector<std::pair<double, bool>> expected{{0, false}, {40e-9, true}, {80e-9, false}, {100e-9, true}};
  BOOST_TEST_REQUIRE(capture.channels.size() == 1u);
  const auto& changes = capture.channels[0].changes;
  BOOST_TEST_REQUIRE(changes.size() == expected.size());
  for (std::size_t i = 0; i < changes.size(); ++i) {
    BOOST_TEST(changes[i].time_s == expected[i].first, boost::test_tools::tolerance(1e-12));
    BOOST_TEST(changes[i].high == expected[i].second);
  }
  BOOST_TEST(capture.span_s == 120e-9, boost::test_tools::tolerance(1e-12));
  BOOST_TEST(capture.notes.at(0) == "din: 2 values x or z, taken as the state before (at the start: as the first known state)");
  BOOST_TEST(capture.notes.at(1) == "1 variables of several bits, real or event skipped, the first v");
}

BOOST_AUTO_TEST_CASE(equal_names_in_equal_scopes_stay_two_lines) {
  const Capture capture = import("$timescale 1 ns $end $scope module mill $end $var wire 1 #1$ din $end $upscope $end $scope module mill $end $var wire 1 0 din $end $upscope $end "
                                 "$enddefinitions $end\n#0 0#1$ 10\n#5 1#1$\n#8 00\n#9\n");
  BOOST_TEST_REQUIRE(capture.channels.size() == 2u);
  for (const Channel& channel : capture.channels) {
    BOOST_TEST(channel.name == "mill.din");
    BOOST_TEST(channel.changes.size() == 2u);
  }
  BOOST_TEST(capture.channels[0].changes[1].high);
  BOOST_TEST(!capture.channels[1].changes[1].high);
}

BOOST_AUTO_TEST_CASE(a_second_name_of_a_line_is_noted) {
  const Capture capture = import("$timescale 1 ns $end $var wire 1 ! a $end $var wire 1 ! b $end $enddefinitions $end\n#0 0! #5 1! #9\n");
  BOOST_TEST(capture.channels.size() == 1u);
  BOOST_TEST(capture.notes.at(0) == "b is another name of a line declared before: skipped");
}

BOOST_AUTO_TEST_CASE(every_truncation_is_an_error_or_keeps_the_changes_before_the_cut) {
  const std::string good = header + body;
  const auto whole = import(good).channels[0].changes;
  for (std::size_t length = 6; length < good.size(); ++length) {
    BOOST_TEST_CONTEXT("cut to " << length) {
      try {
        const auto changes = import(good.substr(0, length)).channels[0].changes;
        BOOST_TEST(length > header.size());
        BOOST_TEST_REQUIRE(changes.size() <= whole.size());
        for (std::size_t i = 0; i < changes.size(); ++i) BOOST_TEST(changes[i].time_s == whole[i].time_s);
      } catch (const ImportError& error) {
        BOOST_TEST(std::string(error.what()).starts_with("bridge.vcd"));
      }
    }
  }
}

BOOST_AUTO_TEST_SUITE_END()
