#pragma once
// The verdict for a terminal.

#include <string>

#include "analyzer/diagnosis.hpp"
#include "reports/text/layout.hpp"

namespace pulsewright::reports {

/// Verdict first, then what decides it with margins, then why, what to do, and what was assumed. Text from captures and
/// command lines is made printable.
std::string diagnosis_text(const analyzer::Diagnosis& diagnosis, const TextStyle& style);

/// The colour that goes with an outcome.
Tone tone_of(analyzer::Outcome outcome);

}  // namespace pulsewright::reports
