#pragma once
// The diagnosis as JSON, schema pulsewright.diagnosis.v1, and back.
//
// SI units stand in the key. A missing measurement is null, its reason stands in "<key>_missing"; the standard
// uncertainty of a measurement stands in "<key>_u" where it was evaluated. Figures' traces are not stored.

#include <stdexcept>
#include <string>
#include <string_view>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports {

/// One line a file could not be read by: `name: $.line.z0_ohm: expected a number, found "many"`.
class DiagnosisReadError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// UTF-8 text, indented, with a newline at the end. Text that is not UTF-8 has its wrong bytes replaced by U+FFFD.
std::string diagnosis_json(const analyzer::Diagnosis& diagnosis);

/// Reads what `diagnosis_json` wrote; further keys are ignored, wrong or missing ones throw DiagnosisReadError.
analyzer::Diagnosis read_diagnosis_json(std::string_view text, std::string_view name);

}  // namespace pulsewright::reports
