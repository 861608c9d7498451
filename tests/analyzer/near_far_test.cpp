#include "analyzer/diagnose/near_far.hpp"

#include <boost/test/unit_test.hpp>
#include <cmath>

#include "analyzer/diagnose.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

constexpr double kDelay_s = 85e-9;

waveforms::BitTrain train() {
  return {.bits = waveforms::random_bits(96, 3), .idle_s = 320e-6, .frames = 3, .latch_gap_s = 320e-6};
}
waveforms::Scope scope(unsigned seed) {
  return {.sample_interval_s = 3.97e-9, .noise_rms_v = 0.02, .seed = seed};
}

// Before the resistor: the driver's own edges. Far: the same, later, slower and 10 % smaller.
waveforms::Signal near_signal(const waveforms::BitTrain& bits) {
  return waveforms::bit_train(bits, waveforms::gaussian(4e-9));
}

waveforms::Signal far_signal(waveforms::BitTrain bits) {
  bits.high_v = 4.5;
  auto signal = waveforms::bit_train(bits, waveforms::gaussian(20e-9));
  for (auto& edge : signal.edges_s) edge += kDelay_s;
  return signal;
}

importers::Capture both_ends(const waveforms::Signal& near, const waveforms::Signal& far) {
  auto capture = waveforms::sample(near, scope(1)).capture();
  auto other = waveforms::sample(far, scope(2)).capture();
  capture.channels[0].name = "near";
  other.channels[0].name = "far";
  capture.channels.push_back(std::move(other.channels[0]));
  capture.sha256 = "0f";
  return capture;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(near_far)

BOOST_AUTO_TEST_CASE(one_record_gives_delay_loss_and_growth) {
  const auto capture = both_ends(near_signal(train()), far_signal(train()));
  const auto ends = diagnose(capture, {.channel = "far"}, &capture).near_far;
  BOOST_TEST_REQUIRE(ends.present);
  BOOST_TEST(ends.alignment == "same record");
  BOOST_TEST_REQUIRE(ends.delay_s.value.has_value());
  BOOST_TEST(std::abs(*ends.delay_s - kDelay_s) < 0.3e-9);
  BOOST_TEST(std::abs(*ends.delay_s - kDelay_s) < 3 * ends.delay_s.u + 0.1e-9);
  BOOST_TEST(std::abs(*ends.loss_db - 20 * std::log10(5 / 4.5)) < 0.05);
  // Gaussian edges: 10-90 % is 2.5631 sigma (mathematics).
  BOOST_TEST(std::abs(*ends.edge_growth_s - 2.5631 * (20e-9 - 4e-9)) < 3e-9);
  BOOST_TEST(ends.compared_bits == 288u);
  BOOST_TEST(ends.differing_bits == 0u);
}

BOOST_AUTO_TEST_CASE(a_bit_that_the_line_turned_over_is_found) {
  auto far = far_signal(train());
  const auto bits = train().bits;
  const std::size_t place = 40;
  far.edges_s[2 * place + 1] = far.edges_s[2 * place] + (bits[place] ? 400e-9 : 800e-9);
  const auto capture = both_ends(near_signal(train()), far);
  const auto ends = diagnose(capture, {.channel = "far"}, &capture).near_far;
  BOOST_TEST(ends.differing_bits == 1u);
  BOOST_TEST_REQUIRE(ends.first_difference.has_value());
  BOOST_TEST(*ends.first_difference == place);
  BOOST_TEST_REQUIRE(ends.differences.size() == 1u);
  const auto& difference = ends.differences.front();  // bit 40: second pixel of 24 bits, its third byte, most significant bit
  BOOST_TEST(difference.frame == 0u);
  BOOST_TEST(difference.pixel == 1u);
  BOOST_TEST(difference.channel == 2u);
  BOOST_TEST(difference.channel_bit == 7u);
  BOOST_TEST((difference.expected == bits[place] && difference.found != bits[place]));
  BOOST_TEST((ends.made_at == FaultPlace::way));
  BOOST_TEST(ends.text.find("the line loses them") != std::string::npos, ends.text);
}

BOOST_AUTO_TEST_CASE(two_records_are_compared_by_their_bits) {
  const auto far = waveforms::sample(far_signal(train()), scope(2)).capture("far.csv");
  const auto near = waveforms::sample(near_signal(train()), scope(1)).capture("near.csv");
  const auto ends = diagnose(far, {}, &near).near_far;
  BOOST_TEST(ends.alignment == "by bit pattern");
  BOOST_TEST((!ends.delay_s && !ends.delay_s.missing.empty()));
  BOOST_TEST(ends.compared_bits == 288u);
  BOOST_TEST(ends.differing_bits == 0u);
  BOOST_TEST(ends.near_file == "near.csv");
}

BOOST_AUTO_TEST_CASE(other_content_is_not_compared) {
  auto other = train();
  other.bits = waveforms::random_bits(96, 99);
  const auto far = waveforms::sample(far_signal(train()), scope(2)).capture();
  const auto near = waveforms::sample(near_signal(other), scope(1)).capture();
  const auto ends = diagnose(far, {}, &near).near_far;
  BOOST_TEST(ends.alignment == "separate frames");
  BOOST_TEST(ends.compared_bits == 0u);
}

BOOST_AUTO_TEST_CASE(wrong_times_at_the_controller_are_not_blamed_on_the_line) {
  auto bits = train();
  bits.t0h_s = 620e-9, bits.t0l_s = 630e-9, bits.t1h_s = 950e-9, bits.t1l_s = 300e-9;
  const auto far = waveforms::sample(far_signal(bits), scope(2)).capture();
  const auto near = waveforms::sample(near_signal(bits), scope(1)).capture();
  const auto diagnosis = diagnose(far, {.protocol = "WS2812B"}, &near);
  BOOST_TEST(diagnosis.near_far.text.find("already there at the controller") != std::string::npos,
             diagnosis.near_far.text);
  BOOST_TEST(diagnosis.verdict.causes.front().id == "source-timing");
  BOOST_TEST((diagnosis.near_far.made_at == FaultPlace::controller));
}

BOOST_AUTO_TEST_CASE(a_low_drive_is_placed_at_the_controller) {
  auto bits = train();
  bits.high_v = 3.3;
  auto far_bits = bits;
  auto far_wave = waveforms::bit_train(far_bits, waveforms::gaussian(20e-9));
  const auto far = waveforms::sample(far_wave, scope(2)).capture();
  const auto near = waveforms::sample(waveforms::bit_train(bits, waveforms::gaussian(4e-9)), scope(1)).capture();
  const auto diagnosis = diagnose(far, {.protocol = "ws2815-800k-v1.1"}, &near);
  BOOST_TEST((diagnosis.near_far.made_at == FaultPlace::controller), diagnosis.near_far.text);
  BOOST_TEST(diagnosis.near_far.text.find("drive level") != std::string::npos, diagnosis.near_far.text);
}

// The way lengthens every high by 60 ns: a rising edge that is late by less than the falling one.
BOOST_AUTO_TEST_CASE(widths_and_levels_are_held_against_each_other) {
  auto signal = far_signal(train());
  for (std::size_t edge = 1; edge < signal.edges_s.size(); edge += 2) signal.edges_s[edge] += 60e-9;
  const auto capture = both_ends(near_signal(train()), signal);
  const auto ends = diagnose(capture, {.channel = "far", .near_channel = "near"}, &capture).near_far;
  BOOST_TEST_REQUIRE(ends.width_change_zero_s.value.has_value());
  BOOST_TEST(std::abs(*ends.width_change_zero_s - 60e-9) < 2e-9);
  BOOST_TEST(std::abs(*ends.width_change_one_s - 60e-9) < 2e-9);
  BOOST_TEST(std::abs(*ends.high_change_v + 0.5) < 0.03);
  BOOST_TEST(std::abs(*ends.low_change_v) < 0.03);
}

BOOST_AUTO_TEST_CASE(one_channel_is_not_two_ends) {
  const auto capture = both_ends(near_signal(train()), far_signal(train()));
  BOOST_CHECK_THROW(diagnose(capture, {.channel = "far", .near_channel = "far"}, &capture), SettingsError);
  const auto alone = waveforms::sample(far_signal(train()), scope(2)).capture();
  BOOST_CHECK_THROW(diagnose(alone, {}, &alone), SettingsError);
}

BOOST_AUTO_TEST_SUITE_END()
