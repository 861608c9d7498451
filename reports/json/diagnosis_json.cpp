#include "reports/json/diagnosis_json.hpp"

#include "reports/json/reader.hpp"
#include "reports/json/writer.hpp"

namespace pulsewright::reports {

std::string diagnosis_json(const analyzer::Diagnosis& diagnosis) {
  nlohmann::ordered_json out;
  json::Writer writer(out);
  analyzer::Diagnosis copy = diagnosis;  // the field description serves reading too and takes references
  json::fields(writer, copy);
  return out.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

analyzer::Diagnosis read_diagnosis_json(std::string_view text, std::string_view name) {
  try {
    const auto parsed = nlohmann::json::parse(text);
    analyzer::Diagnosis diagnosis;
    json::Reader reader(parsed, "$");
    json::fields(reader, diagnosis);
    return diagnosis;
  } catch (const nlohmann::json::parse_error& error) {
    throw DiagnosisReadError(std::string(name) + ", byte " + std::to_string(error.byte) +
                             ": expected a stored diagnosis (JSON), found something else");
  } catch (const nlohmann::json::out_of_range&) {
    throw DiagnosisReadError(std::string(name) + ": expected numbers that a double holds, found a larger one");
  } catch (const DiagnosisReadError& error) {
    throw DiagnosisReadError(std::string(name) + ": " + error.what());
  }
}

}  // namespace pulsewright::reports
