#include "analyzer/conditioning/fitness.hpp"

#include <boost/test/unit_test.hpp>

#include "analyzer/diagnose.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;

namespace {

waveforms::Record data_record(const waveforms::Scope& scope) {
  return waveforms::sample(waveforms::bit_train({.bits = waveforms::random_bits(96, 3)}, waveforms::ramp(20e-9)), scope);
}

analyzer::Fitness fitness_of(const importers::Capture& capture) {
  const auto& channel = capture.channels[0];
  const auto view = analyzer::view_of(capture, channel, 1, false);
  const auto states = analyzer::measure_states(view);
  const auto transitions = analyzer::find_transitions(view, states.levels, 1.5, 3.5, states.noise_rms_v.value.value_or(0), states.adc_step_v.value.value_or(0));
  const analyzer::Settings settings;
  const analyzer::SettingsUsed used;
  return analyzer::judge_fitness({.capture = &capture, .channel = &channel, .samples = view, .states = &states, .transitions = transitions,
                                  .rising = nullptr, .falling = nullptr, .stated = &settings, .used = &used});
}

}  // namespace

BOOST_AUTO_TEST_SUITE(fitness)

BOOST_AUTO_TEST_CASE(a_good_capture_has_no_flags) {
  const auto fitness = fitness_of(data_record({.sample_interval_s = 8e-9, .noise_rms_v = 0.02}).capture());
  BOOST_TEST(fitness.flags.empty());
  BOOST_TEST((fitness.voltages && fitness.timing && fitness.edges));
}

BOOST_AUTO_TEST_CASE(a_blocked_mean_is_named) {
  auto record = data_record({.sample_interval_s = 8e-9, .noise_rms_v = 0.02});
  double mean = 0;
  for (const float v : record.volts) mean += static_cast<double>(v) / static_cast<double>(record.volts.size());
  for (float& v : record.volts) v -= static_cast<float>(mean);
  const auto fitness = fitness_of(record.capture());
  BOOST_TEST_REQUIRE(fitness.find("ac-coupled") != nullptr);
  BOOST_TEST(!fitness.voltages);
  BOOST_TEST(fitness.timing);
}

BOOST_AUTO_TEST_CASE(coarse_steps_and_noise_are_named_with_advice) {
  const auto coarse = fitness_of(data_record({.sample_interval_s = 8e-9, .noise_rms_v = 0.02, .adc_bits = 5}).capture());
  BOOST_TEST_REQUIRE(coarse.find("coarse-steps") != nullptr);
  BOOST_TEST(!coarse.find("coarse-steps")->advice.empty());
  const auto noisy = fitness_of(data_record({.sample_interval_s = 8e-9, .noise_rms_v = 0.3}).capture());
  BOOST_TEST(noisy.find("noisy") != nullptr);
}

BOOST_AUTO_TEST_CASE(channels_by_name_number_and_content) {
  auto capture = data_record({.sample_interval_s = 8e-9, .noise_rms_v = 0.02}).capture();
  auto flat = capture.channels[0];
  flat.name = "supply";
  for (float& v : flat.values) v = 5;
  capture.channels.insert(capture.channels.begin(), flat);
  analyzer::Settings settings;
  BOOST_TEST(analyzer::choose_channel(capture, settings) == 1u);
  settings.channel = "Supply";
  BOOST_TEST(analyzer::choose_channel(capture, settings) == 0u);
  settings.channel = "2";
  BOOST_TEST(analyzer::choose_channel(capture, settings) == 1u);
  settings.channel = "3";
  BOOST_CHECK_THROW(analyzer::choose_channel(capture, settings), analyzer::SettingsError);
}

BOOST_AUTO_TEST_SUITE_END()
