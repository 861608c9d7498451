// Pairs of captures of which the circuit is known (ngspice, tests/reference/compare): nothing changed, worse, better, not comparable.
// ctest compares a few pairs of each; PULSEWRIGHT_STUDY=100 compares a hundred of those in which nothing changed and prints what moved.

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
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

bool says(const Comparison& made, const std::string& words) {
  return std::ranges::any_of(made.reasons, [&](const std::string& reason) { return reason.find(words) != std::string::npos; });
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

// Z0 is 82 ohm, the driver 17 ohm: 68 ohm in series matches the line, 220 and 470 ohm feed it too slowly, 0 ohm lets it ring.
BOOST_AUTO_TEST_CASE(a_worse_resistor_is_worse_and_a_better_one_better) {
  struct Pair {
    const char* before;
    double ohm_before;
    const char* after;
    double ohm_after;
    Change expected;
  };
  for (const auto& each : {Pair{"far68", 68, "far220", 220, Change::worse}, Pair{"far68", 68, "far0", 0, Change::worse},
                           Pair{"far100", 100, "far470", 470, Change::worse}, Pair{"far220", 220, "far68", 68, Change::better},
                           Pair{"far0", 0, "far68", 68, Change::better}, Pair{"far470", 470, "far100", 100, Change::better}}) {
    const auto made = pair_of(each.before, each.ohm_before, each.after, each.ohm_after);
    BOOST_TEST_CONTEXT(each.before << " to " << each.after << ": " << made.headline) BOOST_TEST((made.result == each.expected));
  }
}

BOOST_AUTO_TEST_CASE(the_swap_comes_out_as_the_earlier_capture_predicted) {
  const auto made = pair_of("far220", 220, "far68", 68);
  BOOST_TEST_REQUIRE(made.prediction.present);
  BOOST_TEST(made.prediction.within_band, made.prediction.text);
  BOOST_TEST(*made.prediction.rms_error_ratio < 0.03);
  BOOST_TEST((made.bits.relation == BitsCompared::Relation::same_frame));
  BOOST_TEST(made.bits.after.wrong == 0u);
}

BOOST_AUTO_TEST_CASE(what_cannot_be_compared_is_named) {
  const auto before = taken("far68", 68);
  const auto against = [&](const importers::Capture& capture, const Settings& stated) {
    return pulsewright::analyzer::compare({before, diagnose(capture, stated)}, {"before", "after"});
  };
  auto stated = footbridge::settings(68);
  stated.protocol = "ws2811-400k-2011";
  const auto protocol = against(footbridge::take({.circuit = "far68", .seed = 31}), stated);
  BOOST_TEST((protocol.result == Change::not_comparable));
  BOOST_TEST(says(protocol, "other protocol"));

  stated = footbridge::settings(68);
  stated.at = ProbePosition::near;
  const auto node = against(footbridge::take({.circuit = "near68", .seed = 32}), stated);
  BOOST_TEST((node.result == Change::not_comparable));
  BOOST_TEST(says(node, "other node"));

  stated = footbridge::settings(68);
  stated.probe_factor = 1;
  const auto probe = against(footbridge::take({.circuit = "far68direct", .seed = 33}), stated);
  BOOST_TEST((probe.result == Change::not_comparable));
  BOOST_TEST(says(probe, "other probe factor"));

  const auto coarse = against(footbridge::take({.circuit = "far68", .seed = 34, .rate_hz = 8e6}), footbridge::settings(68));
  BOOST_TEST((coarse.result == Change::not_comparable));
  BOOST_TEST(says(coarse, "sampled too coarsely"));
}

// Bits the same, one pixel shown in another colour.
BOOST_AUTO_TEST_CASE(another_picture_on_the_pixels_is_no_bit_error) {
  auto other = footbridge::Taking{.circuit = "far68", .seed = 41};
  other.bits[3] = !other.bits[3], other.bits[30] = !other.bits[30];
  const auto made = pulsewright::analyzer::compare({taken("far68", 68), diagnose(footbridge::take(other), footbridge::settings(68))}, {"a", "b"});
  BOOST_TEST((made.bits.relation == BitsCompared::Relation::other_content), made.bits.text);
  BOOST_TEST((made.result == Change::no_clear_change), made.headline);
}

// Td is 99 ns, R is 68 + 17 ohm on 82 ohm. A far end so close to its match shows echoes of 2 %, so that it alone tells Td badly; the
// step at the controller lasts 2 Td. Each end is captured alone: no common time base, no probe at the other end.
BOOST_AUTO_TEST_CASE(both_ends_of_separate_records_fit_one_line) {
  auto stated = footbridge::settings(68);
  stated.length_m.reset();
  const auto far = footbridge::take({.circuit = "far68", .seed = 51}), near = footbridge::take({.circuit = "near68", .seed = 52});
  const auto together = diagnose(far, stated, &near);
  BOOST_TEST(together.near_far.fitted_together, together.near_far.fitted_alone_because);
  const auto alone = diagnose(far, stated);
  BOOST_TEST((!alone.line.delay_s || alone.line.delay_s.u > 3 * together.line.delay_s.u), *alone.line.delay_s << " u " << alone.line.delay_s.u << " together " << together.line.delay_s.u);
  BOOST_TEST((!together.near_far.delay_s && !together.near_far.delay_s.missing.empty()));
  BOOST_TEST_REQUIRE(together.line.delay_s.value.has_value());
  BOOST_TEST(std::abs(*together.line.delay_s - 99e-9) < std::max(3 * together.line.delay_s.u, 2e-9), *together.line.delay_s);
  BOOST_TEST(std::abs(*together.line.source_ratio - 85.0 / 82) < 0.05, *together.line.source_ratio);
  BOOST_TEST((together.near_far.made_at == FaultPlace::none), together.near_far.text);
  BOOST_TEST(together.near_far.text.starts_with("The far end is sound"), together.near_far.text);
}

// Behind 220 ohm the controller's end shows steps of a quarter of the swing: no bits there, but the line tells.
BOOST_AUTO_TEST_CASE(a_resistor_too_large_is_placed_on_the_way) {
  const auto far = footbridge::take({.circuit = "far220", .seed = 53}), near = footbridge::take({.circuit = "near220", .seed = 54});
  const auto found = diagnose(far, footbridge::settings(220), &near);
  BOOST_TEST((found.near_far.made_at == FaultPlace::way), found.near_far.text);
  BOOST_TEST(found.near_far.compared_bits == 0u);
  BOOST_TEST((!found.near_far.loss_db && !found.near_far.loss_db.missing.empty()));
  BOOST_TEST(found.line.fitted);
  BOOST_TEST((found.near_far.fitted_together || !found.near_far.fitted_alone_because.empty()));
}

BOOST_AUTO_TEST_SUITE_END()
