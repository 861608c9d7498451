#include "reports/json/comparison_json.hpp"

#include "reports/json/writer.hpp"

namespace pulsewright::reports {

namespace {

using nlohmann::ordered_json;

ordered_json diagnosis_of(const analyzer::Diagnosis& diagnosis) {
  ordered_json out;
  json::Writer writer(out);
  analyzer::Diagnosis copy = diagnosis;  // the field description serves reading too and takes references
  json::fields(writer, copy);
  return out;
}

ordered_json difference_of(const analyzer::Difference& difference) {
  ordered_json out;
  json::Writer writer(out);
  writer.text("key", difference.key);
  writer.text("name", difference.name);
  writer.text("unit", difference.unit);
  writer.measured("before", difference.before);
  writer.measured("after", difference.after);
  writer.measured("change", difference.change, "u");
  writer.flag("significant", difference.significant);
  writer.optional_flag("better", difference.better);
  return out;
}

ordered_json prediction_of(const analyzer::PredictionKept& kept) {
  if (!kept.present) return nullptr;
  ordered_json out;
  json::Writer writer(out);
  writer.number("ohm", kept.ohm);
  writer.measured("rms_error_v", kept.rms_error_v);
  writer.measured("rms_error_ratio", kept.rms_error_ratio);
  writer.measured("overshoot_error", kept.overshoot_error);
  writer.measured("within_band_ratio", kept.within_band_ratio);
  writer.flag("within_band", kept.within_band);
  analyzer::Waveform predicted = kept.predicted;
  writer.object("predicted", predicted);
  writer.numbers("measured_v", kept.measured_v);
  writer.text("text", kept.text);
  return out;
}

ordered_json errors_of(const analyzer::BitErrors& errors) {
  ordered_json out;
  json::Writer writer(out);
  writer.count("frames", errors.frames);
  writer.count("bits", errors.bits);
  writer.count("wrong", errors.wrong);
  writer.count("other_frames", errors.other_frames);
  auto places = errors.places;
  writer.list("places", places);
  return out;
}

ordered_json bits_of(const analyzer::BitsCompared& bits) {
  ordered_json out;
  json::Writer writer(out);
  writer.text("relation", std::string(analyzer::to_string(bits.relation)));
  writer.text("text", bits.text);
  out["before"] = errors_of(bits.before);
  out["after"] = errors_of(bits.after);
  return out;
}

ordered_json ranked_of(const analyzer::Ranked& ranked, const std::string& label) {
  ordered_json out;
  json::Writer writer(out);
  writer.count("index", ranked.index);
  writer.text("label", label);
  writer.text("result", std::string(analyzer::to_string(ranked.result)));
  writer.measured("margin", ranked.margin);
  writer.text("margin_check", ranked.margin_check);
  return out;
}

}  // namespace

std::string comparison_json(const analyzer::Comparison& comparison) {
  ordered_json out;
  out["schema"] = "pulsewright.comparison.v1";
  out["labels"] = comparison.labels;
  out["verdict"] = {{"result", analyzer::to_string(comparison.result)}, {"headline", comparison.headline}, {"reasons", comparison.reasons}};
  out["coverage_factor"] = comparison.coverage_factor;
  ordered_json differences = ordered_json::array(), ranking = ordered_json::array();
  for (const auto& difference : comparison.differences) differences.push_back(difference_of(difference));
  for (const auto& ranked : comparison.ranking) ranking.push_back(ranked_of(ranked, comparison.labels[ranked.index]));
  out["differences"] = std::move(differences);
  out["prediction"] = prediction_of(comparison.prediction);
  if (!comparison.prediction.present) out["prediction_missing"] = comparison.prediction.absent_because;
  out["bits"] = bits_of(comparison.bits);
  out["ranking"] = std::move(ranking);
  out["series"] = comparison.series;
  out["before"] = diagnosis_of(comparison.captures.front());
  out["after"] = diagnosis_of(comparison.captures.back());
  if (comparison.captures.size() > 2) {
    ordered_json all = ordered_json::array();
    for (const auto& diagnosis : comparison.captures) all.push_back(diagnosis_of(diagnosis));
    out["captures"] = std::move(all);
  }
  return out.dump(1, ' ', false, ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace pulsewright::reports
