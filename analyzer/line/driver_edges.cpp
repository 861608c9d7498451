#include "analyzer/line/driver_edges.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

#include "analyzer/pulse/sample_scan.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double turn_ratio = 0.12;             // of the span: a voltage that came back by this much has turned
constexpr std::size_t most_samples = 1'000'000;  // of a long record the beginning tells as much
constexpr double slow_s = 25e-9;                // from turning to 50 %: longer than one arrival takes
constexpr double share_of_slow = 0.15;
constexpr double least_width_s = 150e-9;        // between turning points of the driver
constexpr double ring_ratio = 0.12;             // of the span, below the low state: a line that rings, not one that fills up

struct Span {
  double low_v, high_v;
};

Span span_of(const SampleView& s, const Extremes& raw) {
  const auto [low_v, high_v] = std::minmax({s.scale * static_cast<double>(raw.low) + s.offset, s.scale * static_cast<double>(raw.high) + s.offset});
  return {low_v, high_v};
}

// How far the voltage has come, in the direction in which it moves, when it has passed through a block without turning by `turn_v`;
// nothing where it may turn there.
std::optional<double> extreme_behind(const Span& block, double extreme_v, int direction, double turn_v) {
  const double low_v = std::min(extreme_v, block.low_v), high_v = std::max(extreme_v, block.high_v);
  if (direction == 0) return high_v - extreme_v < turn_v && extreme_v - low_v < turn_v ? std::optional(extreme_v) : std::nullopt;
  const bool turns = direction > 0 ? high_v - block.low_v >= turn_v : block.high_v - low_v >= turn_v;
  return turns ? std::nullopt : std::optional(direction > 0 ? high_v : low_v);
}

// Turning points of the voltage: where it has left its last extreme by `turn_v`, interpolated.
std::vector<Transition> turning_points(const SampleView& s, std::size_t count, double turn_v) {
  std::vector<Transition> found;
  double extreme = s[0];
  int direction = 0;  // of the movement that goes on
  for (std::size_t i = 1; i < count; ++i) {
    if (i % BlockedValues::in_block == 0 && !s.blocks.empty() && i + BlockedValues::in_block <= count) {
      const auto behind = extreme_behind(span_of(s, s.blocks[i / BlockedValues::in_block]), extreme, direction, turn_v);
      if (behind) {
        extreme = *behind, i += BlockedValues::in_block - 1;
        continue;
      }
    }
    const double v = s[i];
    if (direction == 0) {
      if (std::abs(v - extreme) < turn_v) continue;
      direction = v > extreme ? 1 : -1;
    } else if (direction * (v - extreme) >= 0) {
      extreme = v;
      continue;
    } else if (direction * (extreme - v) < turn_v) {
      continue;
    } else {
      direction = -direction;
    }
    const double level = extreme + direction * turn_v, before = s[i - 1];
    const double part = v != before ? std::clamp((level - before) / (v - before), 0.0, 1.0) : 1;
    Transition t;
    t.mid_s = s.time_s(static_cast<double>(i) - 1 + part), t.rising = direction > 0;
    found.push_back(t);
    extreme = v;
  }
  return found;
}

// Times from the last turning point of the same direction to each 50 % instant.
std::vector<double> from_turn_to_middle(std::span<const Transition> turns, std::span<const Transition> middles) {
  std::vector<double> delays;
  std::size_t k = 0;
  for (const auto& m : middles) {
    while (k + 1 < turns.size() && turns[k + 1].mid_s <= m.mid_s + 5e-9) ++k;
    std::size_t own = k;
    if (own > 0 && turns[own].rising != m.rising) --own;
    if (turns[own].rising == m.rising && turns[own].mid_s <= m.mid_s + 5e-9) delays.push_back(m.mid_s - turns[own].mid_s);
  }
  return delays;
}

// A step that an earlier edge left behind can turn the voltage once more, shortly after the driver did: the first of three
// turning points in quick succession is the driver's.
std::vector<Transition> without_echoes(const std::vector<Transition>& turns) {
  std::vector<Transition> kept;
  for (std::size_t i = 0; i < turns.size(); ++i) {
    kept.push_back(turns[i]);
    if (i + 2 < turns.size() && turns[i + 1].mid_s - turns[i].mid_s < least_width_s) i += 2;
  }
  return kept;
}

// Distance of bits: the most frequent one between upward turning points, which echoes repeat but do not change.
double bit_period(std::span<const Transition> ups) {
  constexpr double least_s = 0.8e-6, most_s = 3.2e-6, bin_s = 10e-9;
  std::vector<std::size_t> counts(static_cast<std::size_t>((most_s - least_s) / bin_s) + 2, 0);
  for (std::size_t i = 0; i < ups.size(); ++i)
    for (std::size_t k = i + 1; k < ups.size() && ups[k].mid_s - ups[i].mid_s < most_s; ++k)
      if (ups[k].mid_s - ups[i].mid_s >= least_s) ++counts[static_cast<std::size_t>((ups[k].mid_s - ups[i].mid_s - least_s) / bin_s)];
  std::size_t best = 0;
  for (std::size_t b = 0; b + 1 < counts.size(); ++b)
    if (counts[b] + counts[b + 1] > counts[best] + counts[best + 1]) best = b;
  return least_s + bin_s * static_cast<double>(best + 1);
}

// The turning points that a driver with bits of equal length has made: from the first after a pause on, one upward each period
// and the first downward between that is no echo. Few where the bits are not equally long.
std::vector<Transition> on_bit_grid(const std::vector<Transition>& turns) {
  constexpr double tolerance_s = 25e-9;
  std::vector<Transition> ups, kept;
  std::copy_if(turns.begin(), turns.end(), std::back_inserter(ups), [](const Transition& t) { return t.rising; });
  const double period_s = bit_period(ups);
  for (std::size_t i = 0; i < turns.size(); ++i) {
    if (!turns[i].rising || (i > 0 && turns[i].mid_s - turns[i - 1].mid_s < 2 * period_s)) continue;
    for (std::size_t rise = i;;) {
      const double begin_s = turns[rise].mid_s;
      std::size_t fall = rise + 1, next = fall;
      while (fall < turns.size() && (turns[fall].rising || turns[fall].mid_s - begin_s < least_width_s)) ++fall;
      if (fall == turns.size() || turns[fall].mid_s - begin_s > period_s) break;
      kept.push_back(turns[rise]), kept.push_back(turns[fall]);
      while (next < turns.size() && (!turns[next].rising || turns[next].mid_s - begin_s < period_s - tolerance_s)) ++next;
      if (next == turns.size() || turns[next].mid_s - begin_s > period_s + tolerance_s) break;
      rise = i = next;
    }
  }
  return kept;
}

bool often_slow(std::vector<double> delays) {
  if (delays.size() < 4) return false;
  const auto slow = std::count_if(delays.begin(), delays.end(), [](double d) { return d > slow_s; });
  return static_cast<double>(slow) > share_of_slow * static_cast<double>(delays.size());
}

}  // namespace

DriverEdges edges_at_middle(const LineNode& node) {
  return {.edges = without_ring_crossings(node.transitions), .level_ratio = 0.5, .dwells = false, .lowest_v = 0, .highest_v = 0};
}

DriverEdges driver_edges(const LineNode& node) {
  auto plain = edges_at_middle(node);
  const std::size_t count = std::min(node.samples.size(), most_samples);
  if (count < 16 || plain.edges.size() < 4) return plain;
  const auto span = span_of(node.samples, extremes_of(node.samples.blocked(), 0, count));
  if (node.levels != nullptr && node.levels->low_v && span.low_v < *node.levels->low_v - ring_ratio * (span.high_v - span.low_v)) return plain;
  const double turn_v = std::max(turn_ratio * (span.high_v - span.low_v), 6 * node.noise_rms_v);
  const auto all = turning_points(node.samples, count, turn_v);
  auto turns = on_bit_grid(all);
  if (turns.size() < plain.edges.size() * 7 / 10) turns = without_echoes(all);
  const double end_s = node.samples.time_s(static_cast<double>(count));
  const auto last = std::partition_point(plain.edges.begin(), plain.edges.end(), [&](const Transition& t) { return t.mid_s < end_s; });
  if (turns.size() < 6 || !often_slow(from_turn_to_middle(turns, {plain.edges.begin(), last}))) return plain;
  return {.edges = turns, .level_ratio = turn_v / (span.high_v - span.low_v), .dwells = true, .lowest_v = span.low_v,
          .highest_v = span.high_v};
}

std::vector<Transition> without_ring_crossings(std::span<const Transition> transitions, double least_s) {
  std::vector<Transition> kept(transitions.begin(), transitions.end());
  for (bool changed = true; changed;) {
    changed = false;
    std::vector<Transition> next;
    const auto width = [&](std::size_t i) { return i + 1 < kept.size() ? kept[i + 1].mid_s - kept[i].mid_s : 1.0; };
    for (std::size_t i = 0; i < kept.size(); ++i) {
      // The dip is shorter than what lies about it: taking the shortest leaves the true edges.
      const bool shortest = i > 0 && width(i) < least_s && width(i) <= width(i - 1) && width(i) <= width(i + 1);
      if (shortest) {
        ++i, changed = true;
      } else {
        next.push_back(kept[i]);
      }
    }
    kept = std::move(next);
  }
  return kept;
}

}  // namespace pulsewright::analyzer
