#include "analyzer/compare.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <stdexcept>
#include <utility>

#include "analyzer/compare/bits.hpp"
#include "analyzer/compare/figures.hpp"
#include "analyzer/compare/prediction.hpp"

namespace pulsewright::analyzer {

namespace {

/// Two-sided tail probability of |z| > k for a normal deviate.
double two_sided_tail(double k) {
  return std::erfc(k / std::sqrt(2.0));
}

bool has_cause(const Diagnosis& diagnosis, std::string_view id) {
  return std::ranges::any_of(diagnosis.verdict.causes, [&](const Cause& cause) { return cause.id == id; });
}

/// A line that rings through the thresholds adds pulses of its own: no sign of another protocol.
bool rings_hard(const Diagnosis& diagnosis) {
  return std::ranges::any_of(diagnosis.verdict.causes, [](const Cause& cause) { return cause.id == "underdamped-source" && cause.confidence >= 0.6; });
}

/// Why this capture cannot stand in a comparison at all; empty when it can.
std::string unfit(const Diagnosis& diagnosis, const std::string& label) {
  static constexpr std::pair<std::string_view, std::string_view> reasons[] = {
      {"undersampled", "is sampled too coarsely"},
      {"flat-line", "shows a flat line"},
      {"power-rail", "shows a power rail, not data"},
      {"probe-factor", "has a doubtful probe factor"},
      {"wrong-protocol", "does not carry the protocol it was judged by"}};
  for (const auto& [id, words] : reasons)
    if (has_cause(diagnosis, id) && !(id == "wrong-protocol" && rings_hard(diagnosis))) return label + " " + std::string(words);
  return {};
}

std::vector<std::string> why_not_comparable(const Comparison& comparison) {
  std::vector<std::string> reasons;
  const auto& before = comparison.captures.front();
  const auto& after = comparison.captures.back();
  if (before.settings.windows.id != after.settings.windows.id)
    reasons.push_back("other protocol: " + before.settings.windows.id + " before, " + after.settings.windows.id +
                      " after");
  if (before.settings.at != after.settings.at)
    reasons.push_back("other node: one capture is from the far end, the other from the near end");
  if (before.settings.probe_factor != after.settings.probe_factor)
    reasons.push_back("other probe factor: the probe loads the line differently in the two captures");
  if (before.capture.logic != after.capture.logic)
    reasons.push_back("one capture is logic only, the other has voltages");
  if (before.capture.relative_levels != after.capture.relative_levels)
    reasons.push_back("one capture is in volts, the other in counts without a scale");
  for (const std::size_t index : {std::size_t{0}, comparison.captures.size() - 1})
    if (auto why = unfit(comparison.captures[index], comparison.labels[index]); !why.empty())
      reasons.push_back(std::move(why));
  return reasons;
}

int rank_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return 0;
    case Outcome::marginal: return 1;
    case Outcome::fail: return 2;
    case Outcome::cannot_tell: break;
  }
  return 3;
}

/// Figures that moved this way, the clearest first.
std::vector<std::string> names_where(const std::vector<Difference>& differences, bool better) {
  std::vector<const Difference*> moved;
  for (const auto& difference : differences)
    if (difference.significant && difference.better == better) moved.push_back(&difference);
  std::ranges::stable_sort(moved, std::greater{}, [](const Difference* d) { return std::abs(*d->change) / d->change.u; });
  std::vector<std::string> names;
  for (const auto* difference : moved) names.push_back(difference->name);
  return names;
}

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  constexpr std::size_t most = 2;
  for (std::size_t i = 0; i < names.size() && i < most; ++i)
    text += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  if (names.size() > most) text += " and " + std::to_string(names.size() - most) + " more";
  return text;
}

/// The change that the receiver would notice: first by verdict, then by the figures that moved, then by the margin.
Change decide(Comparison& comparison) {
  const auto better = names_where(comparison.differences, true);
  const auto worse = names_where(comparison.differences, false);
  if (!better.empty()) comparison.reasons.push_back("better: " + listed(better));
  if (!worse.empty()) comparison.reasons.push_back("worse: " + listed(worse));
  if (better.empty() && worse.empty()) return Change::no_clear_change;

  const auto before = rank_of(comparison.captures.front().verdict.result);
  const auto after = rank_of(comparison.captures.back().verdict.result);
  if (before < 3 && after < before && !better.empty()) return Change::better;
  if (after < 3 && after > before && !worse.empty()) return Change::worse;
  if (worse.empty()) return Change::better;
  if (better.empty()) return Change::worse;

  const auto first = rank_capture(comparison.captures.front(), 0);
  const auto last = rank_capture(comparison.captures.back(), comparison.captures.size() - 1);
  if (first.margin && last.margin) {
    const double gain = *last.margin - *first.margin;
    const double u = std::hypot(first.margin.u, last.margin.u);
    if (std::abs(gain) > comparison.coverage_factor * u && u > 0) {
      comparison.reasons.push_back("the smallest margin decides (" + last.margin_check + ")");
      return gain > 0 ? Change::better : Change::worse;
    }
  }
  return Change::no_clear_change;
}

/// "from fail to pass", "still marginal"
std::string verdicts_of(const Comparison& comparison) {
  const auto words = [](Outcome outcome) { return outcome == Outcome::cannot_tell ? std::string("cannot tell") : std::string(to_string(outcome)); };
  const auto before = words(comparison.captures.front().verdict.result), after = words(comparison.captures.back().verdict.result);
  return before == after ? "still " + after : "from " + before + " to " + after;
}

std::string headline_of(const Comparison& comparison) {
  const auto better = listed(names_where(comparison.differences, true));
  const auto worse = listed(names_where(comparison.differences, false));
  const auto verdicts = verdicts_of(comparison);
  switch (comparison.result) {
    case Change::better:
      return "Better: " + verdicts + ". Improved: " + better + (worse.empty() ? "" : "; worse: " + worse) + ".";
    case Change::worse:
      return "Worse: " + verdicts + ". Worse: " + worse + (better.empty() ? "" : "; improved: " + better) + ".";
    case Change::no_clear_change:
      return better.empty() && worse.empty() ? "No clear change: no figure moved by more than its uncertainty."
                                             : "No clear change: " + better + " improved, " + worse +
                                                   " got worse, and neither outweighs the other.";
    case Change::not_comparable: break;
  }
  return "Not comparable: " + comparison.reasons.front() + ".";
}

std::string series_sentence(const Comparison& comparison) {
  const auto count = [&](Outcome outcome) { return std::ranges::count(comparison.ranking, outcome, &Ranked::result); };
  const auto& best = comparison.ranking.front();
  std::string text = "Best of " + std::to_string(comparison.captures.size()) + ": " + comparison.labels[best.index] +
                     (best.margin ? ", limited by: " + best.margin_check : std::string()) + ". ";
  static constexpr std::pair<Outcome, std::string_view> words[] = {
      {Outcome::pass, "pass"}, {Outcome::marginal, "marginal"}, {Outcome::fail, "fail"}, {Outcome::cannot_tell, "cannot tell"}};
  std::string tally;
  for (const auto& [outcome, word] : words)
    if (const auto found = count(outcome); found > 0) tally += (tally.empty() ? "" : ", ") + std::to_string(found) + " " + std::string(word);
  return text + "Verdicts: " + tally + ".";
}

/// Distance to the nearest limit: in half-widths of a window, or in units of a single limit.
Measured normalised_margin(const Check& check) {
  if (!check.value || (!check.limit_low && !check.limit_high)) return Measured::none("no value or no limit");
  const double value = *check.value;
  if (check.limit_low && check.limit_high) {
    const double half = (*check.limit_high - *check.limit_low) / 2;
    if (!(half > 0)) return Measured::none("window of no width");
    return Measured::of(std::min(value - *check.limit_low, *check.limit_high - value) / half, check.value.u / half);
  }
  const double limit = check.limit_low ? *check.limit_low : *check.limit_high;
  if (check.unit == "1" && limit == 0) return Measured::none("a count that must be zero has no margin");
  const double scale = limit != 0 ? std::abs(limit) : 1.0;
  const double distance = check.limit_low ? value - limit : limit - value;
  return Measured::of(distance / scale, check.value.u / scale);
}

/// A pause that the controller keeps long enough is the same on every cable.
bool no_matter_of_the_line(const Check& check) { return check.id == "latch-gap" && check.result == Outcome::pass; }

}  // namespace

std::string_view to_string(Change change) {
  switch (change) {
    case Change::better: return "better";
    case Change::worse: return "worse";
    case Change::no_clear_change: return "no-clear-change";
    case Change::not_comparable: break;
  }
  return "not-comparable";
}

std::string_view to_string(BitsCompared::Relation relation) {
  switch (relation) {
    case BitsCompared::Relation::same_frame: return "same-frame";
    case BitsCompared::Relation::other_content: return "other-content";
    case BitsCompared::Relation::undecided: return "undecided";
    case BitsCompared::Relation::not_compared: break;
  }
  return "not-compared";
}

double family_coverage_factor(std::size_t figures) {
  const double each = 1 - std::pow(0.95, 1.0 / static_cast<double>(std::max<std::size_t>(figures, 1)));
  double low = 0, high = 10;
  for (int step = 0; step < 60; ++step) {
    const double middle = (low + high) / 2;
    (two_sided_tail(middle) > each ? low : high) = middle;
  }
  return (low + high) / 2;
}

Ranked rank_capture(const Diagnosis& diagnosis, std::size_t index) {
  Ranked ranked{.index = index,
                .result = diagnosis.verdict.result,
                .margin = Measured::none("no check with a margin was decided"),
                .margin_check = {}};
  for (const auto& check : diagnosis.checks) {
    if (check.advisory || check.result == Outcome::cannot_tell || no_matter_of_the_line(check)) continue;
    const auto margin = normalised_margin(check);
    if (margin && (!ranked.margin || *margin < *ranked.margin)) {
      ranked.margin = margin;
      ranked.margin_check = check.name;
    }
  }
  return ranked;
}

Comparison compare(std::vector<Diagnosis> captures, std::vector<std::string> labels) {
  if (captures.size() < 2) throw std::invalid_argument("a comparison takes two captures or more");
  if (captures.size() != labels.size()) throw std::invalid_argument("one label a capture");

  Comparison comparison;
  comparison.captures = std::move(captures);
  comparison.labels = std::move(labels);
  for (std::size_t i = 0; i < comparison.captures.size(); ++i)
    comparison.ranking.push_back(rank_capture(comparison.captures[i], i));
  std::ranges::stable_sort(comparison.ranking, [](const Ranked& a, const Ranked& b) {
    if (rank_of(a.result) != rank_of(b.result)) return rank_of(a.result) < rank_of(b.result);
    return a.margin.value.value_or(-1e300) > b.margin.value.value_or(-1e300);
  });

  const auto& before = comparison.captures.front();
  const auto& after = comparison.captures.back();
  comparison.bits = compare_bits(before, after);
  comparison.differences = differences_between(before, after, comparison.bits);
  comparison.coverage_factor = family_coverage_factor(judgeable(comparison.differences));
  judge_differences(comparison.differences, comparison.coverage_factor);
  comparison.reasons = why_not_comparable(comparison);
  comparison.prediction = comparison.reasons.empty() ? prediction_kept(before, after) : no_prediction("the captures are not comparable");
  comparison.result = comparison.reasons.empty() ? decide(comparison) : Change::not_comparable;
  comparison.headline = headline_of(comparison);
  if (comparison.captures.size() > 2) comparison.series = series_sentence(comparison);
  return comparison;
}

}  // namespace pulsewright::analyzer
