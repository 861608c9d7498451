// Quantities as people type them.

#include "reports/cli/units.hpp"

#include <boost/test/unit_test.hpp>
#include <string>

namespace {

using namespace pulsewright::cli;

template <class Parser>
bool refused(Parser parser, const std::string& text) {
  try {
    parser(text);
  } catch (const UnitError& error) {
    return std::string(error.what()).size() > 5;
  }
  return false;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(units, *boost::unit_test::tolerance(1e-12))

BOOST_AUTO_TEST_CASE(lengths_need_their_unit) {
  BOOST_TEST(parse_length_m("12m") == 12.0);
  BOOST_TEST(parse_length_m("12 m") == 12.0);
  BOOST_TEST(parse_length_m("40ft") == 12.192);  // 1 ft = 0.3048 m exactly (international yard and pound agreement, 1959)
  BOOST_TEST(parse_length_m("6 in") == 0.1524);
  BOOST_TEST(parse_length_m("350CM") == 3.5);
  BOOST_TEST(parse_length_m(".5m") == 0.5);
  for (const char* wrong : {"", "12", "m", "12q", "12  m", " 12m", "12m ", "-3m", "+3m", "0m", "1,5m", "1e999m", "nan m", "inf m",
                            "0x10m", "1.2.3m", "12m3", "12\nm", "."})
    BOOST_TEST(refused(parse_length_m, wrong), wrong);
}

BOOST_AUTO_TEST_CASE(resistances_take_the_letter_for_the_point) {
  // IEC 60062, clause on letter and digit code: 4K7 is 4.7 kilohm, 4R7 is 4.7 ohm, 1M0 is 1 megohm.
  BOOST_TEST(parse_resistance_ohm("4k7") == 4700.0);
  BOOST_TEST(parse_resistance_ohm("4K7") == 4700.0);
  BOOST_TEST(parse_resistance_ohm("4R7") == 4.7);
  BOOST_TEST(parse_resistance_ohm("1M0") == 1e6);
  BOOST_TEST(parse_resistance_ohm("33ohm") == 33.0);
  BOOST_TEST(parse_resistance_ohm("33 ohms") == 33.0);
  BOOST_TEST(parse_resistance_ohm("33 Ω") == 33.0);
  BOOST_TEST(parse_resistance_ohm("33R") == 33.0);
  BOOST_TEST(parse_resistance_ohm("4k7 ohm") == 4700.0);
  BOOST_TEST(parse_resistance_ohm("0") == 0.0);
  BOOST_TEST(parse_resistance_ohm("2.2kohm") == 2200.0);
  for (const char* wrong : {"", "-1", "k", "k7", "4k7k", "4kk", "33m", "33 ", "4,7k", "4k-7", "74hct245", "4.7R3", "33RR", "33Rohm",
                            "ohm", "1e400", "abc"})
    BOOST_TEST(refused(parse_resistance_ohm, wrong), wrong);
}

BOOST_AUTO_TEST_CASE(frequencies_rates_and_voltages) {
  BOOST_TEST(parse_frequency_hz("100MHz") == 1e8);
  BOOST_TEST(parse_frequency_hz("100 mhz") == 1e8);
  BOOST_TEST(parse_frequency_hz("1.5GHz") == 1.5e9);
  for (const char* wrong : {"", "100", "100M", "0MHz", "-1MHz", "MHz", "1MHzz"}) BOOST_TEST(refused(parse_frequency_hz, wrong), wrong);
  BOOST_TEST(parse_rate_hz("100MS/s") == 1e8);
  BOOST_TEST(parse_rate_hz("24 MSa/s") == 2.4e7);
  BOOST_TEST(parse_rate_hz("8000000") == 8e6);
  BOOST_TEST(parse_rate_hz("8e6") == 8e6);
  for (const char* wrong : {"", "0", "100 MS", "fast", "1MS/m"}) BOOST_TEST(refused(parse_rate_hz, wrong), wrong);
  BOOST_TEST(parse_voltage_v("5") == 5.0);
  BOOST_TEST(parse_voltage_v("5V") == 5.0);
  BOOST_TEST(parse_voltage_v("3V3") == 3.3);
  BOOST_TEST(parse_voltage_v("500mV") == 0.5);
  for (const char* wrong : {"", "0", "-5", "5A", "5 VV", "3V3V", "MV"}) BOOST_TEST(refused(parse_voltage_v, wrong), wrong);
}

BOOST_AUTO_TEST_CASE(ratios_factors_and_ordinals) {
  BOOST_TEST(parse_ratio("3%") == 0.03);
  BOOST_TEST(parse_ratio("50 ppm") == 50e-6);
  BOOST_TEST(parse_ratio("0.03") == 0.03);
  for (const char* wrong : {"3", "100%", "-1%", "", "%"}) BOOST_TEST(refused(parse_ratio, wrong), wrong);
  for (const char* ten : {"10", "10x", "x10", "10:1", "10X"}) BOOST_TEST(parse_probe_factor(ten) == 10.0);
  for (const char* wrong : {"0", "1:10", "x", "ten", "x10x"}) BOOST_TEST(refused(parse_probe_factor, wrong), wrong);
  BOOST_TEST(parse_ordinal("3") == 3u);
  for (const char* wrong : {"0", "-1", "+1", "1.5", "", "99999999999999999999999"}) BOOST_TEST(refused(parse_ordinal, wrong), wrong);
}

BOOST_AUTO_TEST_CASE(sizes_need_their_unit) {
  BOOST_TEST(parse_size_bytes("512MB") == 512000000u);
  BOOST_TEST(parse_size_bytes("2 GiB") == std::size_t{2} << 30);  // IEC 80000-13: binary prefixes
  BOOST_TEST(parse_size_bytes("1.5kb") == 1500u);
  for (const char* wrong : {"", "512", "MB", "0MB", "-1MB", "512 M", "1e300GB", "0.0001kB", "nanMB", "5Mb/s"})
    BOOST_TEST(refused(parse_size_bytes, wrong), wrong);
}

BOOST_AUTO_TEST_SUITE_END()
