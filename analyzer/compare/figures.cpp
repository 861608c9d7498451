#include "analyzer/compare/figures.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace pulsewright::analyzer {

namespace {

/// What the receiver prefers of a figure.
enum class Prefers { nothing, smaller, larger, nearer_zero };

/// Share of `hits` in `total`, with the uncertainty of a proportion after Agresti and Coull (two successes and two
/// failures added), so that 0 of n is not taken as certain.
Measured proportion(std::size_t hits, std::size_t total, const char* why_none) {
  if (total == 0) return Measured::none(why_none);
  const double n = static_cast<double>(total), share = static_cast<double>(hits) / n;
  const double smoothed = (static_cast<double>(hits) + 2) / (n + 4);
  return Measured::of(share, std::sqrt(smoothed * (1 - smoothed) / (n + 4)));
}

Measured minus(const Measured& a, double b) {
  return a ? Measured::of(*a - b, a.u) : a;
}

Measured above(double a, const Measured& b) {
  return b ? Measured::of(a - *b, b.u) : b;
}

/// Distance of a mean width from the nearer edge of its window; larger is better.
Measured window_margin(const Measured& width, const Window& window) {
  if (!width) return width;
  if (!window.min_s && !window.max_s) return Measured::none("the datasheet prints no window");
  double margin = window.min_s ? *width - *window.min_s : *window.max_s - *width;
  if (window.max_s) margin = std::min(margin, *window.max_s - *width);
  return Measured::of(margin, width.u);
}

/// A margin matters where the smaller of the two is less than a third of the window's half-width.
Prefers margin_preference(const Measured& before, const Measured& after, const Window& window) {
  if (!before || !after) return Prefers::nothing;
  if (!window.min_s || !window.max_s) return Prefers::larger;
  return std::min(*before, *after) < (*window.max_s - *window.min_s) / 6 ? Prefers::larger : Prefers::nothing;
}

/// Peaks below 5 % of the amplitude are nobody's trouble (common practice, no source).
Prefers peak_preference(const Measured& before, const Measured& after) {
  return before && after && std::max(*before, *after) > 0.05 ? Prefers::smaller : Prefers::nothing;
}

class Table {
 public:
  void add(std::string key, std::string name, std::string unit, const Measured& before, const Measured& after,
           Prefers prefers) {
    if (!before && !after) return;
    Difference row{.key = std::move(key), .name = std::move(name), .unit = std::move(unit), .before = before,
                   .after = after, .change = {}, .significant = false, .better = {}};
    if (!before || !after) {
      row.change = Measured::none(before ? after.missing : before.missing);
    } else {
      row.change = Measured::of(*after - *before, std::hypot(before.u, after.u));
      row.better = direction(*before, *after, prefers);
    }
    rows_.push_back(std::move(row));
  }

  std::vector<Difference> take() { return std::move(rows_); }

 private:
  static std::optional<bool> direction(double before, double after, Prefers prefers) {
    switch (prefers) {
      case Prefers::smaller: return after < before;
      case Prefers::larger: return after > before;
      case Prefers::nearer_zero: return std::abs(after) < std::abs(before);
      case Prefers::nothing: break;
    }
    return {};
  }

  std::vector<Difference> rows_;
};

/// A shorter edge helps the receiver only while an edge takes up a good part (a quarter) of the shortest pulse.
Prefers edge_preference(const Measured& before, const Measured& after, const Diagnosis& diagnosis) {
  if (!before || !after) return Prefers::nothing;
  const auto& zero = diagnosis.settings.windows.t0h;
  const double shortest_s = zero.nominal_s ? *zero.nominal_s : zero.min_s.value_or(300e-9);
  return std::max(*before, *after) > shortest_s / 4 ? Prefers::smaller : Prefers::nothing;
}

void add_edges(Table& table, const char* which, const TransitionSummary& before, const TransitionSummary& after,
               const Diagnosis& diagnosis) {
  const std::string key = std::string(which) + ".", edge = std::string(which) + " edge";
  table.add(key + "duration_10_90_s", "10-90 % duration of the " + edge, "s", before.duration_10_90_s, after.duration_10_90_s,
            edge_preference(before.duration_10_90_s, after.duration_10_90_s, diagnosis));
  table.add(key + "overshoot_ratio", "overshoot of the " + edge, "1", before.overshoot_ratio, after.overshoot_ratio,
            peak_preference(before.overshoot_ratio, after.overshoot_ratio));
  table.add(key + "undershoot_ratio", "ring-back of the " + edge, "1", before.undershoot_ratio, after.undershoot_ratio,
            peak_preference(before.undershoot_ratio, after.undershoot_ratio));
  table.add(key + "recrossings", std::string(which) + " edges that come back across a threshold", "1",
            proportion(before.recrossings, before.count, "no edges"), proportion(after.recrossings, after.count, "no edges"),
            Prefers::smaller);
}

void add_pulses(Table& table, const Diagnosis& before, const Diagnosis& after) {
  const auto& windows = before.settings.windows;
  const auto add_class = [&](const char* key, const char* name, const PulseClass& a, const PulseClass& b, const Window& window) {
    const std::string base = std::string("pulses.") + key + ".";
    table.add(base + "high_width_s.mean", std::string("high time of a ") + name, "s", a.high_width.mean_s,
              b.high_width.mean_s, Prefers::nothing);
    const auto margin_a = window_margin(a.high_width.mean_s, window), margin_b = window_margin(b.high_width.mean_s, window);
    table.add(base + "window_margin_s", std::string("distance of a ") + name + "'s high time from its window's edge", "s",
              margin_a, margin_b, margin_preference(margin_a, margin_b, window));
  };
  add_class("zero", "0", before.pulses.zero, after.pulses.zero, windows.t0h);
  add_class("one", "1", before.pulses.one, after.pulses.one, windows.t1h);

  const auto total = [](const Diagnosis& d) { return d.pulses.zero.count + d.pulses.one.count + d.pulses.undecided; };
  table.add("pulses.out_of_window", "share of pulses out of window", "1",
            proportion(before.pulses.out_of_window, total(before), "no pulses"),
            proportion(after.pulses.out_of_window, total(after), "no pulses"), Prefers::smaller);
  table.add("pulses.undecided", "share of pulses that are neither 0 nor 1", "1",
            proportion(before.pulses.undecided, total(before), "no pulses"),
            proportion(after.pulses.undecided, total(after), "no pulses"), Prefers::smaller);
  table.add("pulses.high_after_long_low_shift_s", "dependence of the width on the bit before", "s",
            before.pulses.high_after_long_low_shift_s, after.pulses.high_after_long_low_shift_s, Prefers::nearer_zero);

  const auto compared_bits = [](const Diagnosis& d) {
    std::size_t bits = 0;
    for (const auto& frame : d.frames.frames)
      if (!frame.cut) bits += frame.bits;
    return bits;
  };
  table.add("frames.differing_bits", "share of bits that differ between repeated frames", "1",
            proportion(before.frames.differing_bits, compared_bits(before), "no complete frame"),
            proportion(after.frames.differing_bits, compared_bits(after), "no complete frame"), Prefers::smaller);
}

void add_levels(Table& table, const Diagnosis& before, const Diagnosis& after) {
  table.add("levels.high_v", "high level", "V", before.levels.high_v, after.levels.high_v, Prefers::nothing);
  table.add("levels.low_v", "low level", "V", before.levels.low_v, after.levels.low_v, Prefers::nothing);
  table.add("levels.high_margin_v", "lowest high above VIH", "V",
            minus(before.levels.high_plateau_min_v, before.settings.vih_v),
            minus(after.levels.high_plateau_min_v, after.settings.vih_v), Prefers::larger);
  table.add("levels.low_margin_v", "highest low below VIL", "V", above(before.settings.vil_v, before.levels.low_plateau_max_v),
            above(after.settings.vil_v, after.levels.low_plateau_max_v), Prefers::larger);
  table.add("levels.high_drift_v", "drift of the high level along the frame", "V", before.levels.high_drift_v,
            after.levels.high_drift_v, Prefers::nearer_zero);
}

}  // namespace

std::vector<Difference> differences_between(const Diagnosis& before, const Diagnosis& after, const BitsCompared& bits) {
  Table table;
  add_edges(table, "rising", before.rising, after.rising, before);
  add_edges(table, "falling", before.falling, after.falling, before);
  add_levels(table, before, after);
  add_pulses(table, before, after);
  if (bits.relation == BitsCompared::Relation::same_frame)
    table.add("frames.wrong_bits", "share of bits that are wrong", "1", proportion(bits.before.wrong, bits.before.bits, "no frame to compare"),
              proportion(bits.after.wrong, bits.after.bits, "no frame to compare"), Prefers::smaller);
  table.add("ringing.frequency_hz", "ring frequency", "Hz", before.ringing.frequency_hz, after.ringing.frequency_hz,
            Prefers::nothing);
  table.add("ringing.decay_ratio", "what is left of the ring after one period", "1", before.ringing.decay_ratio,
            after.ringing.decay_ratio, Prefers::smaller);
  table.add("line.source_ratio", "source resistance in parts of the line impedance", "1", before.line.source_ratio,
            after.line.source_ratio, Prefers::nothing);
  return table.take();
}

std::size_t judgeable(const std::vector<Difference>& differences) {
  std::size_t count = 0;
  for (const auto& difference : differences) count += difference.change && difference.change.u > 0;
  return count;
}

void judge_differences(std::vector<Difference>& differences, double coverage_factor) {
  for (auto& difference : differences) {
    const auto& change = difference.change;
    difference.significant = change && change.u > 0 && std::abs(*change) > coverage_factor * change.u;
    if (!difference.significant) difference.better.reset();
  }
}

}  // namespace pulsewright::analyzer
