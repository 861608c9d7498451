#pragma once
// A diagnosis in a few lines, for the message of a failed check.

#include <string>

#include "analyzer/diagnosis.hpp"

namespace pulsewright {

inline std::string told(const analyzer::Diagnosis& diagnosis) {
  std::string text = std::string(to_string(diagnosis.verdict.result)) + ": " + diagnosis.verdict.headline;
  for (const auto& cause : diagnosis.verdict.causes)
    text += "\n    " + cause.id + " " + std::to_string(cause.confidence) + ": " + cause.text;
  for (const auto& check : diagnosis.checks) {
    if (check.result == analyzer::Outcome::pass) continue;
    text += "\n    " + std::string(to_string(check.result)) + " " + check.id + " " +
            std::to_string(check.value.value.value_or(-1) * (check.unit == "s" ? 1e9 : 1)) +
            (check.advisory ? " (softer) " : " ") + check.value.missing;
  }
  return text;
}

}  // namespace pulsewright
