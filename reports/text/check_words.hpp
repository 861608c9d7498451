#pragma once
// A check in words, and the order in which checks are told. Shared by the terminal summary and the forum post.

#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports {

/// "PASS", "FAIL", "MARGINAL", "CANNOT TELL"
std::string shouted(analyzer::Outcome outcome);

/// "pass", "fail", "marginal", "cannot tell"
std::string spoken(analyzer::Outcome outcome);

/// "at least 3.5 V", "at most 1.5 V", "220 ns to 380 ns"; empty where the check has no limit.
std::string limits_in_words(const analyzer::Check& check);

/// Distance of the value from its nearer limit: "14 ns too little", "0.6 V to spare", and whether that is less than the uncertainty; empty without
/// value or limit.
std::string margin_in_words(const analyzer::Check& check);

/// Checks of this outcome, in the order of the diagnosis, but the one with the smallest margin (of the limit) first.
std::vector<const analyzer::Check*> checks_with(const analyzer::Diagnosis& diagnosis, analyzer::Outcome outcome, bool advisory);

/// "overshoot 59 % ± 2 %, frequency 2.6 MHz" from the evidence of a cause; figures without value are left out.
std::string evidence_in_words(const analyzer::Cause& cause);

/// "channel DATA", but not "channel channel 1".
std::string channel_in_words(std::string_view name, std::size_t longest);

/// "75 Ω, violet green black gold": the part to fit; empty where none is suggested.
std::string part_in_words(const analyzer::Suggestion& suggestion);

/// Figures without a value, those of one reason together: "Overshoot; high level: the capture is logic levels".
class FiguresWithout {
 public:
  void add(std::string name, const std::string& reason);
  std::vector<std::string> lines() const;

 private:
  std::map<std::string, std::string> names_;  ///< of each reason
};

}  // namespace pulsewright::reports
