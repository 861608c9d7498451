#include "analyzer/pulse/transition.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>

#include "analyzer/pulse/sample_scan.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr float nan = std::numeric_limits<float>::quiet_NaN();
constexpr std::size_t longest_fit = 64;  // samples; a longer stretch within the noise of a level is no straight line

// Samples oriented so that the new state is up: `sign` is -1 for a falling transition or mirrored raw values.
struct Oriented {
  const float* v;
  float sign;
  float operator()(std::size_t i) const { return sign * v[i]; }
};

struct Level {
  float at, margin;  // oriented raw units; noise margin either side
};

// Straight line through samples [a, b] where several lie within the noise of the level, else through the two that bracket it.
double instant_between(const Oriented& y, std::size_t a, std::size_t b, float level) {
  if (b - a > 2 && b - a <= longest_fit) {
    double n = 0, si = 0, sv = 0, sii = 0, siv = 0;
    for (std::size_t i = a; i <= b; ++i) {
      const double x = static_cast<double>(i - a), value = static_cast<double>(y(i)) - static_cast<double>(level);
      n += 1, si += x, sv += value, sii += x * x, siv += x * value;
    }
    const double slope = (n * siv - si * sv) / (n * sii - si * si);
    const double at = slope > 0 ? (si - sv / slope) / n : -1;
    if (at >= 0 && at <= static_cast<double>(b - a)) return static_cast<double>(a) + at;
  }
  std::size_t k = b;  // last upward crossing before b
  while (k > a + 1 && y(k - 1) >= level) --k;
  const double below = y(k - 1), above = y(k);
  const double part = above > below ? (static_cast<double>(level) - below) / (above - below) : 0.5;
  return static_cast<double>(k - 1) + std::clamp(part, 0.0, 1.0);
}

// Crossing nearest to `from`, looking back: `from` is at or above the level. None where the record or the transition
// before (`bound`) comes first.
std::optional<double> crossing_before(const Oriented& y, std::size_t from, std::size_t bound, Level level) {
  std::size_t inner = from, i = from;
  std::optional<std::size_t> plain;
  while (true) {
    if (y(i) > level.at + level.margin) inner = i;
    if (y(i) <= level.at && !plain) plain = i;
    if (y(i) < level.at - level.margin || (level.margin <= 0 && plain)) break;
    if (i == bound) {
      if (!plain) return {};
      return instant_between(y, *plain, *plain + 1, level.at);
    }
    --i;
  }
  if (inner <= i) inner = i + 1;
  return instant_between(y, i, inner, level.at);
}

// Same, looking forward: `from` is at or below the level.
std::optional<double> crossing_after(const Oriented& y, std::size_t from, std::size_t bound, Level level) {
  std::size_t inner = from, i = from;
  std::optional<std::size_t> plain;
  while (true) {
    if (y(i) < level.at - level.margin) inner = i;
    if (y(i) >= level.at && !plain) plain = i;
    if (y(i) > level.at + level.margin || (level.margin <= 0 && plain)) break;
    if (i == bound) {
      if (!plain) return {};
      return instant_between(y, *plain - 1, *plain, level.at);
    }
    ++i;
  }
  if (inner >= i) inner = i - 1;
  return instant_between(y, inner, i, level.at);
}

// What the walk over one transition needs to know, in raw units of the samples.
struct Finder {
  const SampleView& samples;
  const std::vector<Passage>& passages;
  double low_v, high_v, vil_v, vih_v, margin_v;

  float raw(double volts) const { return static_cast<float>((volts - samples.offset) / samples.scale); }
  float margin() const { return static_cast<float>(margin_v / std::abs(samples.scale)); }
  double amplitude_v() const { return high_v - low_v; }

  // The crossing of a level on the transition around [p.last_out, p.first_in]; relative to the sample index.
  std::optional<double> crossing(const Oriented& y, const Passage& p, std::size_t back_bound, std::size_t ahead_bound,
                                 double volts) const {
    const Level level{y.sign * raw(volts), margin()};
    if (y(p.first_in) < level.at) return crossing_after(y, p.first_in, ahead_bound, level);
    return crossing_before(y, p.first_in, back_bound, level);
  }

  Transition transition(std::size_t index) const;
  bool monotonic(const Oriented& y, double from, double to) const;
  unsigned char recrossings(std::size_t index, bool rising, double entered) const;
};

// Never back by more than the noise between two instants.
bool Finder::monotonic(const Oriented& y, double from, double to) const {
  const float tolerated = 2 * margin();
  auto i = static_cast<std::size_t>(std::floor(from));
  const auto end = static_cast<std::size_t>(std::ceil(to));
  float top = y(i);
  for (; i <= end; ++i) {
    if (y(i) < top - tolerated) return false;
    top = std::max(top, y(i));
  }
  return true;
}

// Excursions back across the threshold that the new state has to keep (VIH after rising, VIL after falling), from `entered`
// to where the next transition leaves that threshold for good.
unsigned char Finder::recrossings(std::size_t index, bool rising, double entered) const {
  const auto v = samples.blocked();
  const float threshold = raw(rising ? vih_v : vil_v);
  const bool keep_above = rising == (samples.scale > 0);
  const float back = keep_above ? threshold - margin() : threshold + margin();
  const float again = keep_above ? threshold + margin() : threshold - margin();
  const auto find = [&](bool above, std::size_t from, std::size_t to, float limit) {
    return above ? first_above(v, from, to, limit) : first_below(v, from, to, limit);
  };
  const std::size_t end = index + 1 < passages.size() ? passages[index + 1].last_out : v.size();
  std::size_t i = find(keep_above, static_cast<std::size_t>(std::ceil(entered)), end, again);
  unsigned count = 0;
  while (i < end && count < 255) {
    i = find(!keep_above, i, end, back);
    if (i == end) break;
    i = find(keep_above, i, end, again);
    if (i < end) ++count;
  }
  return static_cast<unsigned char>(count);
}

Transition Finder::transition(std::size_t index) const {
  const Passage& p = passages[index];
  const bool rising = p.up == (samples.scale > 0);
  const Oriented y{samples.values.data(), p.up ? 1.0f : -1.0f};
  const std::size_t back = index ? passages[index - 1].first_in : 0;
  const std::size_t ahead = index + 1 < passages.size() ? passages[index + 1].last_out : samples.size() - 1;
  const auto at = [&](double volts) { return crossing(y, p, back, ahead, volts); };

  const double middle = at((low_v + high_v) / 2).value_or(static_cast<double>(p.first_in));
  const auto first_level = rising ? low_v : high_v;
  const double step_v = rising ? amplitude_v() : -amplitude_v();
  const auto vil = at(vil_v), vih = at(vih_v);
  const auto p10 = at(first_level + 0.1 * step_v), p90 = at(first_level + 0.9 * step_v);
  const auto offset = [&](const std::optional<double>& instant) {
    return instant ? static_cast<float>((*instant - middle) * samples.sample_interval_s) : nan;
  };
  Transition t{.mid_s = samples.time_s(middle), .vil_offset_s = offset(vil), .vih_offset_s = offset(vih),
               .p10_offset_s = offset(p10), .p90_offset_s = offset(p90), .rising = rising};
  const auto begin = rising ? vil : vih, end = rising ? vih : vil;
  t.monotonic = !begin || monotonic(y, *begin, end.value_or(p90.value_or(middle)));
  if (end) t.recrossings = recrossings(index, rising, *end);
  return t;
}

}  // namespace

std::vector<Transition> find_transitions(const SampleView& samples, const Levels& levels, double vil_v, double vih_v,
                                         double noise_rms_v, double adc_step_v) {
  if (!levels.low_v || !levels.high_v || samples.size() < 2 || samples.scale == 0) return {};
  const double amplitude_v = *levels.high_v - *levels.low_v;
  if (!(amplitude_v > 0)) return {};

  const double middle_v = (*levels.low_v + *levels.high_v) / 2;
  const double band_v = std::clamp(5 * noise_rms_v + adc_step_v, 0.05 * amplitude_v, 0.2 * amplitude_v);
  const auto raw = [&](double v) { return static_cast<float>((v - samples.offset) / samples.scale); };
  const auto [low, high] = std::minmax({raw(middle_v - band_v), raw(middle_v + band_v)});
  const auto passages = passages_of(samples.blocked(), low, high);

  const Finder finder{samples, passages, *levels.low_v, *levels.high_v, vil_v, vih_v, 3 * noise_rms_v + 0.6 * adc_step_v};
  std::vector<Transition> found(passages.size());
  in_parts(passages.size(), 1024, [&](std::size_t first, std::size_t last, std::size_t) {
    for (std::size_t i = first; i < last; ++i) found[i] = finder.transition(i);
  });
  return found;
}

std::optional<std::vector<Transition>> without_ring_backs(std::span<const Transition> transitions, const Levels& levels) {
  if (!levels.amplitude_v || !levels.peak_max_v || !levels.peak_min_v) return {};
  const double beyond_v = std::max(*levels.peak_max_v - *levels.high_v, *levels.low_v - *levels.peak_min_v);
  if (!(beyond_v > 0.25 * *levels.amplitude_v)) return {};
  std::vector<Transition> kept;
  kept.reserve(transitions.size());
  for (std::size_t i = 0; i < transitions.size(); ++i) {
    // p90 of the way there and p10 of the way back are the same level, near the state that is not reached.
    const bool ring_back = i > 0 && i + 1 < transitions.size() && std::isnan(transitions[i].p90_offset_s) && std::isnan(transitions[i + 1].p10_offset_s);
    if (ring_back) {
      ++i;
    } else {
      kept.push_back(transitions[i]);
    }
  }
  return kept;
}

std::vector<Transition> transitions_of_logic(std::span<const importers::LogicChange> changes) {
  std::vector<Transition> found;
  if (changes.empty()) return found;
  found.reserve(changes.size() - 1);
  bool high = changes.front().high;
  for (const auto& change : changes.subspan(1)) {
    if (change.high == high) continue;
    high = change.high;
    found.push_back({.mid_s = change.time_s, .vil_offset_s = 0, .vih_offset_s = 0, .p10_offset_s = 0, .p90_offset_s = 0,
                     .rising = high});
  }
  return found;
}

}  // namespace pulsewright::analyzer
