// The JSON contract: fixed keys, null with a reason for what is missing, and the way back.

#include "reports/json/diagnosis_json.hpp"

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/support/sample_diagnosis.hpp"

namespace {

using namespace pulsewright;
using nlohmann::json;

json written(const analyzer::Diagnosis& diagnosis) { return json::parse(reports::diagnosis_json(diagnosis)); }

std::string read_error(const std::string& text) {
  try {
    reports::read_diagnosis_json(text, "stored.json");
  } catch (const reports::DiagnosisReadError& error) {
    return error.what();
  }
  return "no error";
}

}  // namespace

BOOST_AUTO_TEST_SUITE(diagnosis_json)

BOOST_AUTO_TEST_CASE(every_fixed_key_of_the_schema_stands) {
  const auto out = written(samples::overdamped());
  BOOST_TEST(out["schema"] == "pulsewright.diagnosis.v1");
  const std::vector<std::pair<const char*, std::vector<const char*>>> contract = {
      {"capture", {"file", "sha256", "format", "dialect", "channel", "channels", "unit", "samples", "sample_interval_s",
                   "sample_interval_rule", "start_s", "span_s", "logic", "adc_step_v", "noise_rms_v", "clipped_low",
                   "clipped_high", "notes"}},
      {"settings", {"protocol", "supply_v", "vih_v", "vil_v", "series_ohm", "driver_ohm", "cable", "length_m", "at",
                    "bandwidth_hz", "probe_factor"}},
      {"verdict", {"result", "headline", "causes"}},
      {"levels", {"low_v", "high_v", "amplitude_v"}},
      {"rising", {"count", "duration_10_90_s", "duration_10_90_corrected_s", "overshoot_ratio", "undershoot_ratio",
                  "settling_s", "recrossings", "monotonic"}},
      {"falling", {"count", "duration_10_90_s", "overshoot_ratio", "recrossings", "monotonic"}},
      {"pulses", {"zero", "one", "period_s", "out_of_window", "latch_gap_min_s"}},
      {"frames", {"count", "bits", "pixels", "leftover_bits", "hex", "differing_bits"}},
      {"ringing", {"frequency_hz", "decay_ratio", "damping_ratio", "source"}},
      {"line", {"z0_ohm", "delay_s", "source_ohm", "source_ratio", "load_f", "loss_db", "rms_residual_v", "determined",
                "assumed"}},
      {"suggestion", {"action", "series_ohm_now", "series_ohm", "acceptable_ohm", "colour_bands", "confidence", "predicted",
                      "candidates", "text"}}};
  for (const auto& [section, keys] : contract) {
    BOOST_TEST_REQUIRE(out.contains(section), section);
    for (const char* key : keys) BOOST_TEST(out[section].contains(key), section << "." << key);
  }
  for (const char* key : {"mean", "sd", "min", "max", "at_vil_mean", "at_vih_mean"})
    BOOST_TEST(out["pulses"]["zero"]["high_width_s"].contains(key), key);
  for (const auto& check : out["checks"])
    for (const char* key : {"id", "result", "value", "u", "limit_low", "limit_high", "unit", "source", "text"})
      BOOST_TEST(check.contains(key), key);
  for (const auto& cause : out["verdict"]["causes"])
    for (const char* key : {"id", "confidence", "text", "evidence", "action"}) BOOST_TEST(cause.contains(key), key);
  for (const char* key : {"overshoot_ratio", "duration_10_90_s", "high_margin_v", "low_margin_v", "waveform"})
    BOOST_TEST(out["suggestion"]["predicted"].contains(key), key);
  for (const char* key : {"t_s", "v", "band_v"}) BOOST_TEST(out["suggestion"]["predicted"]["waveform"].contains(key), key);
}

BOOST_AUTO_TEST_CASE(a_missing_measurement_is_null_with_its_reason) {
  auto diagnosis = samples::overdamped();
  diagnosis.levels.high_v = analyzer::Measured::none("timing only");
  const auto out = written(diagnosis);
  BOOST_TEST(out["levels"]["high_v"].is_null());
  BOOST_TEST(out["levels"]["high_v_missing"] == "timing only");
  BOOST_TEST(!out["levels"].contains("high_v_u"));
}

BOOST_AUTO_TEST_CASE(what_was_written_reads_back_the_same) {
  for (const auto& diagnosis : {samples::overdamped(), samples::ringing(), samples::pass()}) {
    const auto text = reports::diagnosis_json(diagnosis);
    const auto again = reports::diagnosis_json(reports::read_diagnosis_json(text, "stored.json"));
    BOOST_TEST(text == again);
  }
}

BOOST_AUTO_TEST_CASE(figures_that_came_later_may_be_missing_from_a_stored_diagnosis) {
  auto out = written(samples::pass());
  for (const char* key : {"high_plateau_max_v", "low_rest_wander_v"}) {
    BOOST_TEST(out["levels"][key].is_number());
    out["levels"].erase(key);
  }
  const auto read = reports::read_diagnosis_json(out.dump(), "stored.json");
  BOOST_TEST(!read.levels.low_rest_wander_v);
  BOOST_TEST(read.levels.low_rest_wander_v.missing == "not in the stored diagnosis");
}

BOOST_AUTO_TEST_CASE(bytes_that_are_no_text_do_not_break_the_file) {
  auto diagnosis = samples::pass();
  diagnosis.capture.channel = "A\xff\"</script>";
  BOOST_TEST(written(diagnosis)["capture"]["channel"] == "A\xEF\xBF\xBD\"</script>");
}

BOOST_AUTO_TEST_CASE(a_wrong_file_gets_one_clear_line) {
  BOOST_TEST(read_error("volts,seconds") == "stored.json, byte 1: expected a stored diagnosis (JSON), found something else");
  BOOST_TEST(read_error("[]") == "stored.json: $: expected an object, found []");
  BOOST_TEST(read_error("{}") == "stored.json: $: expected the key \"schema\", found none");
  auto out = written(samples::pass());
  out["schema"] = "other.v1";
  BOOST_TEST(read_error(out.dump()) == "stored.json: $.schema: expected \"pulsewright.diagnosis.v1\", found another one");
  out = written(samples::pass());
  out["levels"]["low_v"] = "many";
  BOOST_TEST(read_error(out.dump()) == "stored.json: $.levels.low_v: expected a number, found \"many\"");
  out = written(samples::pass());
  out["rising"]["count"] = -1;
  BOOST_TEST(read_error(out.dump()) == "stored.json: $.rising.count: expected a count, found -1");
  out = written(samples::pass());
  out["verdict"]["result"] = "perhaps";
  BOOST_TEST(read_error(out.dump()) == "stored.json: $.verdict.result: expected a known word, found \"perhaps\"");
  out = written(samples::pass());
  out["rising"]["response"]["t_s"] = {0, 1e-9, 2e-9};
  out["rising"]["response"]["v"] = {0, 5};
  BOOST_TEST(read_error(out.dump()) == "stored.json: $.rising.response.v: expected a list of 3 numbers, found 2");
}

BOOST_AUTO_TEST_CASE(a_hostile_file_gets_one_clear_line) {
  BOOST_TEST(read_error("{\"schema\": 1e999}") == "stored.json: expected numbers that a double holds, found a larger one");
  const std::size_t deep = 1000000;
  BOOST_TEST(read_error("{\"schema\": " + std::string(deep, '[') + std::string(deep, ']') + "}") ==
             "stored.json: $.schema: expected a text, found a list");
}

BOOST_AUTO_TEST_SUITE_END()
