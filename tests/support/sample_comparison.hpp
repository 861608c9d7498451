#pragma once
// Comparisons of hand-made diagnoses, for the reports.

#include <array>
#include <string>
#include <vector>

#include "analyzer/compare.hpp"
#include "tests/support/sample_diagnosis.hpp"

namespace pulsewright::samples {

inline analyzer::Comparison swap() {
  auto before = overdamped(), after = pass();
  if (before.suggestion.series_ohm) after.settings.series_ohm = before.suggestion.series_ohm;
  return analyzer::compare({before, after}, {"handrail before", "handrail after the swap"});
}

inline analyzer::Comparison unchanged() { return analyzer::compare({pass(), pass()}, {"Monday", "Tuesday"}); }

inline analyzer::Comparison other_probe() {
  auto after = pass();
  after.settings.probe_factor = 1;
  return analyzer::compare({pass(), after}, {"tenfold probe", "direct probe"});
}

/// The last frame of the later capture has two bits turned over.
inline analyzer::Comparison wrong_bits() {
  auto before = pass(), after = pass();
  const std::string digits = "0123456789ABCDEF";
  auto& hex = after.frames.frames.back().hex;
  hex.front() = digits[digits.find(hex.front()) ^ 8u];
  hex.back() = digits[digits.find(hex.back()) ^ 1u];
  return analyzer::compare({before, after}, {"before", "after"});
}

inline analyzer::Comparison hostile_labels() {
  return analyzer::compare({overdamped(), pass()}, {"</title><script>document.title='owned'</script>", "after <b>\"swap\"</b> [url=x]@all `code`"});
}

/// A test evening: five cables, each with two resistors. The figures are those of three hand-made diagnoses, margins moved apart.
inline analyzer::Comparison series() {
  static constexpr std::array<const char*, 5> cables{"old 3 m cable", "18 m three-core", "18 m twisted pair", "18 m coaxial", "25 m speaker cable"};
  std::vector<analyzer::Diagnosis> captures;
  std::vector<std::string> labels;
  for (std::size_t cable = 0; cable < cables.size(); ++cable)
    for (const double ohm : {33.0, 220.0}) {
      auto d = ohm > 100 ? (cable == 0 ? pass() : overdamped()) : cable == 4 ? ringing() : pass();
      d.settings.series_ohm = Measured::of(ohm);
      for (auto& check : d.checks)
        if (check.value) check.value = Measured::of(*check.value * (1 + 0.01 * static_cast<double>(cable)), check.value.u);
      captures.push_back(d);
      labels.push_back(std::string(cables[cable]) + ", " + (ohm > 100 ? "220 ohm" : "33 ohm"));
    }
  return analyzer::compare(captures, labels);
}

}  // namespace pulsewright::samples
