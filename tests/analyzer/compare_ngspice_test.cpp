// Pairs of captures of which the circuit is known (ngspice, tests/reference/compare): nothing changed, worse, better, not comparable.
// ctest compares a few pairs of each; PULSEWRIGHT_STUDY=100 compares a hundred of those in which nothing changed and prints what moved.

#include <boost/test/unit_test.hpp>
#include <cstdlib>
#include <iostream>

#include "analyzer/compare.hpp"
#include "tests/support/footbridge.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

unsigned seeds = 7000;

Diagnosis taken(const std::string& circuit, double series_ohm) {
  const auto stated = footbridge::settings(series_ohm);
  return diagnose(footbridge::take({.circuit = circuit, .seed = ++seeds}), stated);
}

Comparison pair_of(const std::string& before, double ohm_before, const std::string& after, double ohm_after) {
  return pulsewright::analyzer::compare({taken(before, ohm_before), taken(after, ohm_after)}, {"before", "after"});
}

struct Quiet {
  std::size_t pairs = 0, no_clear_change = 0, by_much = 0;
};

// "By much": a figure moved by more than one and a half times what would have counted, or the pair is not comparable.
void count(Quiet& quiet, const Comparison& made, bool told) {
  ++quiet.pairs;
  if (made.result == Change::no_clear_change) {
    ++quiet.no_clear_change;
    return;
  }
  bool much = made.result == Change::not_comparable;
  for (const auto& row : made.differences) {
    if (!row.significant) continue;
    const double ratio = std::abs(*row.change) / (made.coverage_factor * row.change.u);
    much = much || (row.better && ratio > 1.5);
    if (told) std::cout << "    " << row.key << " " << *row.before << " -> " << *row.after << ", " << ratio << " times what counts\n";
  }
  quiet.by_much += much;
  if (told) std::cout << "  " << made.headline << std::endl;
}

Quiet nothing_changed(const std::string& circuit, double series_ohm, std::size_t pairs, bool told) {
  Quiet quiet;
  seeds = 7000;
  for (std::size_t k = 0; k < pairs; ++k) count(quiet, pair_of(circuit, series_ohm, circuit, series_ohm), told);
  if (told)
    std::cout << circuit << ": " << quiet.no_clear_change << " of " << quiet.pairs << " say no clear change, " << quiet.by_much << " say otherwise by much"
              << std::endl;
  return quiet;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(compare_ngspice)

BOOST_AUTO_TEST_CASE(nothing_changed_is_no_clear_change) {
  const char* wanted = std::getenv("PULSEWRIGHT_STUDY");
  const std::size_t pairs = wanted != nullptr ? static_cast<std::size_t>(std::atoi(wanted)) : 4;
  for (const auto& [circuit, ohm] : std::vector<std::pair<std::string, double>>{{"far68", 68}, {"far220", 220}, {"far33", 33}}) {
    const auto quiet = nothing_changed(circuit, ohm, pairs, wanted != nullptr);
    BOOST_TEST_CONTEXT(circuit) {
      BOOST_TEST(100 * quiet.no_clear_change >= 95 * quiet.pairs, quiet.no_clear_change << " of " << quiet.pairs);
      BOOST_TEST(quiet.by_much == 0u);
    }
  }
}

BOOST_AUTO_TEST_SUITE_END()
