#include "analyzer/protocol/windows.hpp"

#include <boost/test/unit_test.hpp>
#include <set>
#include <string>

#include "importers/import_error.hpp"

using namespace pulsewright::analyzer;
using pulsewright::importers::ImportError;

namespace {

std::string error_of(std::string_view text) {
  try {
    parse_windows(text, "own.txt");
  } catch (const ImportError& error) {
    return error.what();
  }
  return "no error";
}

const TimingWindows& entry(std::string_view name) {
  const auto* found = find_windows(name, {});
  BOOST_TEST_REQUIRE(found != nullptr);
  return *found;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(windows)

BOOST_AUTO_TEST_CASE(ids_are_unique_lower_case_and_each_names_its_source) {
  std::set<std::string> ids;
  for (const auto& one : built_in_windows()) {
    BOOST_TEST(ids.insert(one.id).second, one.id << " occurs twice");
    BOOST_TEST(one.id.find_first_of("ABCDEFGHIJKLMNOPQRSTUVWXYZ_ ") == std::string::npos, one.id);
    BOOST_TEST(!one.source.empty(), one.id);
    BOOST_TEST((one.bits_per_pixel == 24 || one.bits_per_pixel == 32 || one.bits_per_pixel == 36 ||
                one.bits_per_pixel == 48),
               one.id);
  }
  BOOST_TEST(ids.size() == 57u);
}

BOOST_AUTO_TEST_CASE(a_one_is_longer_than_a_zero_and_windows_are_in_order) {
  for (const auto& one : built_in_windows()) {
    BOOST_TEST(one.t0h.typical_s() < one.t1h.typical_s(), one.id);
    for (const Window* window : {&one.t0h, &one.t1h, &one.t0l, &one.t1l}) {
      if (window->min_s && window->max_s) BOOST_TEST(*window->min_s < *window->max_s, one.id);
      if (window->nominal_s && window->min_s) BOOST_TEST(*window->min_s <= *window->nominal_s, one.id);
      if (window->nominal_s && window->max_s) BOOST_TEST(*window->nominal_s <= *window->max_s, one.id);
    }
  }
}

// Printed in the data sheets named by `source`: WS2812B PDF of 2013-05-30; SK6812 rev 06; WS2815B V2.2; TM1814 V1.0.
BOOST_AUTO_TEST_CASE(figures_as_printed, *boost::unit_test::tolerance(1e-9)) {
  const auto& ws2812b = entry("ws2812b-800k-2013-05");
  BOOST_TEST(*ws2812b.t0h.min_s == 250e-9);
  BOOST_TEST(*ws2812b.t0h.nominal_s == 400e-9);
  BOOST_TEST(*ws2812b.t1h.max_s == 950e-9);
  BOOST_TEST(*ws2812b.t1l.min_s == 300e-9);
  BOOST_TEST(*ws2812b.period_tolerance_s == 600e-9);
  BOOST_TEST(*ws2812b.latch_gap_min_s == 50e-6);
  const auto& sk6812 = entry("sk6812-800k-rev06");
  BOOST_TEST(*sk6812.t1h.max_s == 1000e-9);
  BOOST_TEST(*sk6812.t0l.max_s == 20e-6);
  BOOST_TEST(!sk6812.t0l.nominal_s);
  BOOST_TEST(*sk6812.latch_gap_min_s == 80e-6);
  const auto& ws2815b = entry("ws2815b-800k-v2.2");
  BOOST_TEST(*ws2815b.t1h.max_s == 840e-9);
  BOOST_TEST(ws2815b.levels.vih_v(12) == 2.7);
  BOOST_TEST(ws2815b.levels.vil_v(12) == 1.5);
  const auto& tm1814 = entry("tm1814-800k-inverted");
  BOOST_TEST(tm1814.inverted);
  BOOST_TEST(tm1814.bits_per_pixel == 32u);
  BOOST_TEST(*tm1814.t0h.nominal_s == 360e-9);
}

// Data sheets: WS2812B (later edition, copy of 2023-07) 0.7 and 0.3 VDD; WS2812B-V5/W V6.1 0.63 VDD and 0.7 V; WS2811 V2.1 0.55 VDD;
// SK6812 rev 01 3.4 V and 1.6 V at 5 V; WS2815 V1.1 0.7 of its internal 5 V rail.
BOOST_AUTO_TEST_CASE(input_levels_follow_the_basis, *boost::unit_test::tolerance(1e-6)) {
  BOOST_TEST(entry("ws2812b-800k-later").levels.vih_v(5) == 3.5);
  BOOST_TEST(entry("ws2812b-800k-later").levels.vil_v(4.2) == 1.26);
  BOOST_TEST(entry("ws2812b-v5-800k-v6.1").levels.vih_v(5) == 3.15);
  BOOST_TEST(entry("ws2812b-v5-800k-v6.1").levels.vil_v(5) == 0.7);
  BOOST_TEST(entry("ws2811-800k-v2.1").levels.vih_v(5) == 2.75);
  BOOST_TEST(entry("sk6812-800k-rev01").levels.vih_v(5) == 3.4);
  BOOST_TEST(entry("sk6812-800k-rev01").levels.vil_v(5) == 1.6);
  BOOST_TEST(entry("ws2815-800k-v1.1").levels.vih_v(12) == 3.5);
}

BOOST_AUTO_TEST_CASE(a_chip_name_gives_its_usual_edition) {
  BOOST_TEST(entry("WS2812B").id == "ws2812b-800k-union");
  BOOST_TEST(entry("ws2811").id == "ws2811-800k-v1x");
  BOOST_TEST(entry("sk6812").id == "sk6812-800k-rev06");
  BOOST_TEST(entry("SK6812RGBW").id == "sk6812rgbw-800k-rev07");
  BOOST_TEST(entry("WS2813").id == "ws2813-800k-v1.0");
  BOOST_TEST(entry("WS2815").id == "ws2815-800k-v1.1");
  BOOST_TEST(entry("SM16703").id == "sm16703p-800k-v1.3");
  BOOST_TEST(find_windows("no such chip", {}) == nullptr);
  BOOST_TEST(find_windows("", {}) == nullptr);
}

// The wider side of WS2812B 2013-05 and the later edition.
BOOST_AUTO_TEST_CASE(the_union_holds_both_editions) {
  const auto& all = entry(kDefaultWindowsId);
  for (const char* id : {"ws2812b-800k-2013-05", "ws2812b-800k-later"}) {
    const auto& one = entry(id);
    BOOST_TEST(*all.t0h.min_s <= *one.t0h.min_s);
    BOOST_TEST(*all.t0h.max_s >= *one.t0h.max_s);
    BOOST_TEST(*all.t1h.min_s <= *one.t1h.min_s);
    BOOST_TEST(*all.t1h.max_s >= *one.t1h.max_s);
    BOOST_TEST(*all.t1l.min_s <= *one.t1l.min_s);
    BOOST_TEST(*all.t1l.max_s >= *one.t1l.max_s);
    BOOST_TEST(*all.latch_gap_min_s >= *one.latch_gap_min_s);
  }
}

// Bench study of 2014-2016: WS2812B takes up to 563 ns as 0, from 625 ns as 1, at least 1063 ns apart, latches after 9
// us.
BOOST_AUTO_TEST_CASE(measured_acceptance_is_kept_apart, *boost::unit_test::tolerance(1e-9)) {
  const auto measured = measured_for("WS2812B");
  BOOST_TEST_REQUIRE(measured.size() == 2u);
  BOOST_TEST(*measured[0].zero_max_s == 563e-9);
  BOOST_TEST(*measured[0].one_min_s == 625e-9);
  BOOST_TEST(*measured[0].shortest_period_s == 1063e-9);
  BOOST_TEST(*measured[0].latch_gap_s == 9e-6);
  BOOST_TEST(measured_for("WS2811").empty());
}

BOOST_AUTO_TEST_CASE(own_windows_are_read, *boost::unit_test::tolerance(1e-9)) {
  const auto own = parse_windows(
      "# bench figures\n"
      "[footbridge-800k]\n"
      "chip = Footbridge pixel   # the handrail\r\n"
      "edition = second batch\n"
      "t0h_ns = 220 - 380\n"
      "t1h_ns = 580 800 1000\n"
      "t1l_ns = 220 - -\n"
      "period_ns = 1250\n"
      "latch_us = 280\n"
      "bits_per_pixel = 32\n"
      "idle = high\n"
      "vih = 0.63 supply\n"
      "vil = 0.7 V\n"
      "source = measured\n"
      "\n"
      "[other]\n"
      "t0h_ns = - 300 -\n"
      "t1h_ns = - 600 -",
      "own.txt");
  BOOST_TEST_REQUIRE(own.size() == 2u);
  BOOST_TEST(own[0].chip == "Footbridge pixel");
  BOOST_TEST(*own[0].t0h.min_s == 220e-9);
  BOOST_TEST(!own[0].t0h.nominal_s);
  BOOST_TEST(*own[0].t1h.nominal_s == 800e-9);
  BOOST_TEST(!own[0].t1l.max_s);
  BOOST_TEST(own[0].t0l.empty());
  BOOST_TEST(*own[0].latch_gap_min_s == 280e-6);
  BOOST_TEST(own[0].bits_per_pixel == 32u);
  BOOST_TEST(own[0].inverted);
  BOOST_TEST(own[0].levels.vih_v(5) == 3.15);
  BOOST_TEST(own[0].levels.vil_v(5) == 0.7);
  BOOST_TEST(own[1].chip == "other");
  BOOST_TEST(own[1].levels.vih_v(5) == 3.5);
  BOOST_TEST(find_windows("OTHER", own) == &own[1]);
  BOOST_TEST(find_windows("footbridge pixel", own) == &own[0]);
}

BOOST_AUTO_TEST_CASE(errors_say_line_expectation_and_finding) {
  BOOST_TEST(error_of("") == "own.txt:0: expected [id] before the times of a chip, found no entry");
  BOOST_TEST(error_of("chip = x\n") == "own.txt:1: expected [id] before the times of a chip, found \"chip = x\"");
  BOOST_TEST(error_of("[a]\nt0h_ns 300\n") == "own.txt:2: expected key = value or [id], found \"t0h_ns 300\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 300\n") ==
             "own.txt:2: expected min nominal max in ns, \"-\" for one left open, found \"300\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 1 2 3 4\n") == "own.txt:2: expected min nominal max in ns, found \"1 2 3 4\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = - - -\n") ==
             "own.txt:2: expected min nominal max in ns, \"-\" for one left open, found \"- - -\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 1 x 3\n") == "own.txt:2: expected a time in ns or \"-\", above 0, found \"x\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 1 nan 3\n") ==
             "own.txt:2: expected a time in ns or \"-\", above 0, found \"nan\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 300 - 200\n") ==
             "own.txt:2: expected min, nominal and max in ascending order, found \"300 - 200\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 2 - 3\n") == "own.txt:2: expected t1h_ns for [a], found the end of the entry");
  BOOST_TEST(error_of("[a]\nt0h_ns = 2 - 3\nt1h_ns = 1 - 2\n") ==
             "own.txt:3: expected t0h_ns below t1h_ns for [a], found the other way round");
  BOOST_TEST(error_of("[a]\nidle = low\nidle = low\n") ==
             "own.txt:3: expected each key once in an entry, found \"idle\"");
  BOOST_TEST(error_of("[a]\nidle = up\n") == "own.txt:2: expected \"low\" or \"high\", found \"up\"");
  BOOST_TEST(error_of("[a]\nvih = 3.5\n") ==
             "own.txt:2: expected a level such as \"3.5 V\" or \"0.7 supply\", found \"3.5\"");
  BOOST_TEST(error_of("[a]\nvih = 3.5 V\nt0h_ns = 1 - 2\nt1h_ns = 3 - 4\n") ==
             "own.txt:4: expected vih and vil together for [a], found one of them");
  BOOST_TEST(error_of("[a]\nbits_per_pixel = 24.5\n") ==
             "own.txt:2: expected a whole number of bits from 1 to 256, found \"24.5\"");
  BOOST_TEST(error_of("[a b]\n") == "own.txt:1: expected an id of a-z, 0-9, \"-\", \".\" and \"_\", found \"a b\"");
  BOOST_TEST(error_of("[]\n") == "own.txt:1: expected [id] with an id of 1 to 80 characters, found \"[]\"");
  BOOST_TEST(error_of("[a]\nt0h_ns = 1 - 2\nt1h_ns = 3 - 4\n[a]\n") ==
             "own.txt:4: expected an id that was not used before, found \"a\"");
  BOOST_TEST(error_of("[a]\ncolour = red\n").starts_with("own.txt:2: expected a key of the format"));
  BOOST_TEST(error_of("[a]\nchip =\n") == "own.txt:2: expected a value for \"chip\", found nothing");
  BOOST_TEST(error_of(std::string_view("\x01\x02\0\xff", 4))
                 .starts_with("own.txt:1: expected key = value or [id], found \"??"));
}

BOOST_AUTO_TEST_CASE(every_truncation_is_read_or_refused) {
  const std::string whole = "[a]\nt0h_ns = 220 300 380\nt1h_ns = 580 - 1000\nvih = 3.5 V\nvil = 1.5 V\n";
  std::size_t read = 0;
  for (std::size_t length = 0; length <= whole.size(); ++length) {
    try {
      read += parse_windows(whole.substr(0, length), "own.txt").size();
    } catch (const ImportError& error) {
      BOOST_TEST((error.kind == ImportError::Kind::unusable_data));
    }
  }
  BOOST_TEST(read >= 1u);
}

BOOST_AUTO_TEST_SUITE_END()
