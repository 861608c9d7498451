#include "analyzer/line/margins.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

namespace pulsewright::analyzer {

namespace {

constexpr double settle_s = 40e-9;       // after the crossing a level must hold from here on even on a rising staircase
constexpr double absolute_v = 0.5;       // beyond either rail (pixel data sheets: -0.5 V to VDD + 0.5 V)
constexpr double least_room_s = 30e-9;   // a source at the edge of its window is not the line's fault

// One state of the line, mirrored so that it is always a high one.
class Segment {
 public:
  Segment(std::span<const double> volts, std::size_t from, std::size_t to, bool mirrored, double step_s)
      : volts_(volts), from_(from), to_(std::min(to, volts.size())), mirrored_(mirrored), step_s_(step_s) {}

  bool empty() const { return to_ <= from_ + 2; }
  double at(std::size_t i) const { return mirrored_ ? -volts_[i] : volts_[i]; }

  std::optional<std::size_t> first_at_or_above(double level) const {
    const double* const v = volts_.data();
    const auto found = mirrored_ ? first_where(v, [level](double each) { return each <= -level; }) : first_where(v, [level](double each) { return each >= level; });
    return found < to_ ? std::optional(found) : std::nullopt;
  }

  // Instant in grid steps, interpolated.
  std::optional<double> crossing(double level) const {
    const auto i = first_at_or_above(level);
    if (!i) return {};
    if (*i == 0 || at(*i - 1) >= level) return static_cast<double>(*i);
    return static_cast<double>(*i) - (at(*i) - level) / (at(*i) - at(*i - 1));
  }

  // The level that a receiver with its threshold between `from_level` and `to_level` can rely on.
  double held(double from_level, double to_level) const {
    const auto crossed = first_at_or_above(to_level);
    if (!crossed) return highest();
    const double dip = drawdown(from_level, *crossed);
    std::size_t i = *crossed;
    while (i + 1 < to_ && at(i + 1) >= at(i)) ++i;  // the first climb
    const double least = lowest(std::min(i, *crossed + static_cast<std::size_t>(settle_s / step_s_)));
    return dip > 0 ? std::min(least, to_level - dip) : least;
  }

 private:
  template <class Test>
  std::size_t first_where(const double* v, Test test) const {
    constexpr std::size_t at_once = 16;
    std::size_t i = from_;
    for (; i + at_once <= to_; i += at_once) {
      int any = 0;  // no early end, so that the compiler uses vector instructions
      for (std::size_t k = 0; k < at_once; ++k) any |= test(v[i + k]) ? 1 : 0;
      if (any != 0) break;
    }
    while (i < to_ && !test(v[i])) ++i;
    return i;
  }
  Eigen::Map<const Eigen::ArrayXd> rest(std::size_t i) const { return {volts_.data() + i, static_cast<Eigen::Index>(to_ - i)}; }
  double highest() const { return mirrored_ ? -rest(from_).minCoeff() : rest(from_).maxCoeff(); }
  double lowest(std::size_t i) const { return mirrored_ ? -rest(i).maxCoeff() : rest(i).minCoeff(); }

  // Largest fall back between the two levels on the way up.
  double drawdown(double from_level, std::size_t until) const {
    double top = from_level, dip = 0;
    bool inside = false;
    for (std::size_t i = from_; i < until; ++i) {
      inside = inside || at(i) >= from_level;
      if (!inside) continue;
      top = std::max(top, at(i));
      dip = std::max(dip, top - std::max(at(i), from_level));
    }
    return dip > 0.01 * std::abs(from_level) + 0.01 ? dip : 0;
  }

  std::span<const double> volts_;
  std::size_t from_, to_;
  bool mirrored_;
  double step_s_;
};

class Judge {
 public:
  Judge(std::span<const double> volts, double first_s, double step_s, const BitPattern& pattern, double arrival_s,
        double low_state_v, double high_state_v, const Receiver& receiver)
      : volts_(volts), first_s_(first_s), step_s_(step_s), pattern_(pattern), arrival_s_(arrival_s), receiver_(receiver) {
    const double swing = high_state_v - low_state_v;
    high_room_v_ = std::max(high_state_v - receiver.vih_v, 0.15 * swing);
    low_room_v_ = std::max(receiver.vil_v - low_state_v, 0.15 * swing);
    top_room_v_ = std::max(receiver.supply_v + absolute_v - high_state_v, 0.25);
    bottom_room_v_ = std::max(low_state_v + absolute_v, 0.25);
  }

  Margins run() {
    levels();
    widths();
    const Eigen::Map<const Eigen::ArrayXd> all(volts_.data(), static_cast<Eigen::Index>(volts_.size()));
    m_.peak_v = all.maxCoeff(), m_.trough_v = all.minCoeff();
    m_.stress = std::min((receiver_.supply_v + absolute_v - m_.peak_v) / top_room_v_, (m_.trough_v + absolute_v) / bottom_room_v_);
    const double least = std::min({m_.high, m_.low, m_.width});
    m_.limited_by = m_.high == least  ? Criterion::high_level
                    : m_.low == least ? Criterion::low_level
                                      : Criterion::width;
    if (least > 0 && m_.stress < least) m_.limited_by = Criterion::overstress;
    return m_;
  }

 private:
  std::size_t index_of(double source_s) const {
    return static_cast<std::size_t>(std::max(0.0, std::ceil((source_s + arrival_s_ - first_s_) / step_s_)));
  }

  Segment segment(std::size_t edge) const {
    const auto& edges = pattern_.edges;
    const double end_s = edge + 1 < edges.size() ? edges[edge + 1].time_s : pattern_.end_s;
    return {volts_, index_of(edges[edge].time_s), index_of(end_s), !edges[edge].rising, step_s_};
  }

  void levels() {
    double high_v = 1e9, low_v = 1e9;
    for (std::size_t e = 0; e < pattern_.edges.size(); ++e) {
      const auto s = segment(e);
      if (s.empty()) continue;
      if (pattern_.edges[e].rising) {
        high_v = std::min(high_v, s.held(receiver_.vil_v, receiver_.vih_v) - receiver_.vih_v);
      } else {
        low_v = std::min(low_v, s.held(-receiver_.vih_v, -receiver_.vil_v) + receiver_.vil_v);
      }
    }
    m_.high_v = high_v, m_.low_v = low_v;
    m_.high = high_v / high_room_v_, m_.low = low_v / low_room_v_;
  }

  void widths() {
    double zero = 1e9, one = 0;
    for (std::size_t e = 0; e + 1 < pattern_.edges.size(); ++e) {
      const bool high = pattern_.edges[e].rising, bit = pattern_.bits[e / 2];
      const auto begin = segment(e), end = segment(e + 1);
      if (begin.empty() || end.empty()) continue;
      const double source_s = pattern_.edges[e + 1].time_s - pattern_.edges[e].time_s;
      const auto& w = receiver_.windows;
      const auto& window = high ? (bit ? w.t1h : w.t0h) : (bit ? w.t1l : w.t0l);
      for (const double level : {receiver_.vil_v, receiver_.vih_v}) {
        const auto width = width_between(begin, end, high ? level : -level);
        m_.width = std::min(m_.width, width ? width_margin(*width - source_s, source_s, window) : -1);
      }
      if (!high) continue;
      const double middle = (receiver_.vil_v + receiver_.vih_v) / 2;
      const double width = width_between(begin, end, middle).value_or(0);
      if (bit ? std::abs(width - source_s) > std::abs(one - source_s) || one == 0
              : std::abs(width - source_s) > std::abs(zero - source_s) || zero == 1e9)
        (bit ? one : zero) = width;
    }
    m_.zero_width_s = zero == 1e9 ? 0 : zero, m_.one_width_s = one;
  }

  std::optional<double> width_between(const Segment& begin, const Segment& end, double level) const {
    const auto up = begin.crossing(level), down = end.crossing(-level);
    if (!up || !down) return {};
    return (*down - *up) * step_s_;
  }

  static double width_margin(double shift_s, double source_s, const Window& window) {
    const auto limit = shift_s < 0 ? window.min_s : window.max_s;
    const double room = limit ? (shift_s < 0 ? source_s - *limit : *limit - source_s) : 0.35 * source_s;
    return 1 - std::abs(shift_s) / std::max(room, least_room_s);
  }

  std::span<const double> volts_;
  double first_s_, step_s_;
  const BitPattern& pattern_;
  double arrival_s_;
  const Receiver& receiver_;
  double high_room_v_, low_room_v_, top_room_v_, bottom_room_v_;
  Margins m_;
};

}  // namespace

double Margins::functional() const { return std::min({high, low, width}); }

double Margins::all() const {
  if (stress >= 0) return std::min(functional(), stress);
  return std::min(functional(), std::max(stress / 2, -0.5));
}

std::string to_words(Criterion criterion) {
  switch (criterion) {
    case Criterion::high_level: return "high level at the pixel above VIH";
    case Criterion::low_level: return "low level at the pixel below VIL";
    case Criterion::width: return "pulse width at the receiver's threshold";
    case Criterion::overstress: return "overshoot beyond VDD + 0.5 V or below -0.5 V";
  }
  return {};
}

BitPattern worst_case_pattern(const BitTimes& times) {
  BitPattern pattern;
  pattern.bits = {false, false, false, true, false, true, true, true, false, false, true, true, false, true};
  pattern.times = times;
  double t = 0;
  for (const bool one : pattern.bits) {
    pattern.edges.push_back({t, true});
    t += one ? times.one_high_s : times.zero_high_s;
    pattern.edges.push_back({t, false});
    t += one ? times.one_low_s : times.zero_low_s;
  }
  pattern.end_s = t;
  return pattern;
}

Margins judge_waveform(std::span<const double> volts, double first_s, double step_s, const BitPattern& pattern, double arrival_s,
                       double low_state_v, double high_state_v, const Receiver& receiver) {
  return Judge(volts, first_s, step_s, pattern, arrival_s, low_state_v, high_state_v, receiver).run();
}

}  // namespace pulsewright::analyzer
