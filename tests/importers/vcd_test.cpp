// Four-state value change dumps. Syntax: IEEE Std 1364-2005 clause 18.2 (from memory); the examples are invented.

#include <boost/test/unit_test.hpp>
#include <string>

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

BOOST_AUTO_TEST_CASE(broken_dumps_have_exact_messages) {
  BOOST_TEST(message("$timescale 2 ns $end\n") ==
             "bridge.vcd:1: expected a time scale of 1, 10 or 100 s, ms, us, ns, ps or fs, found \"2ns\"");
  BOOST_TEST(message(header + "#5\n1!\n#4\n") == "bridge.vcd:13: expected a time of at least #5, found #4: time runs backwards");
  BOOST_TEST(message(header + "#5\n1?\n") == "bridge.vcd:12: expected an identifier code declared by $var, found \"?\"");
  BOOST_TEST(message(header + "#x\n") == "bridge.vcd:11: expected a time in whole ticks after #, found \"x\"");
  BOOST_TEST(message("$var wire 1 ! d $end\n$enddefinitions $end\n") ==
             "bridge.vcd:2: expected a $timescale before the first value, found none");
  BOOST_TEST(message(header) == "bridge.vcd:11: expected times and value changes of a one-bit variable, found none");
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
