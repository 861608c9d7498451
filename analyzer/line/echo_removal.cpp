#include "analyzer/line/echo_removal.hpp"

#include <algorithm>
#include <cmath>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t most_samples = 3000;       // that the search looks at: some twenty bits
constexpr double coarse_interval_s = 8e-9;       // between them
constexpr double shortest_s = 60e-9, longest_s = 800e-9, most_ratio = 0.85;
constexpr double quiet_s = 2e-6;                 // without a transition: a pause, which says nothing of echoes
constexpr double near_level_ratio = 0.15;        // of the distance of the two levels: a sample further off belongs to neither
constexpr double most_between = 0.35;            // share of the samples between the levels, edges included
constexpr double hysteresis_ratio = 0.2;         // of the same distance, either side of the middle

struct TwoLevels {
  double low_v = 0, high_v = 0;
  double share_between = 1;
};

class EchoSearch {
 public:
  explicit EchoSearch(const LineNode& node) : s_(node.samples) {
    const auto stride = std::max<std::size_t>(1, static_cast<std::size_t>(coarse_interval_s / s_.sample_interval_s));
    std::size_t next = 0;
    for (std::size_t i = 0; i < s_.size() && seen_.size() < most_samples; i += stride) {
      const double t = s_.time_s(static_cast<double>(i));
      while (next < node.transitions.size() && node.transitions[next].mid_s <= t) ++next;
      if (next > 0 && t - node.transitions[next - 1].mid_s < quiet_s) seen_.push_back(i);
    }
    interval_s_ = static_cast<double>(stride) * s_.sample_interval_s;
  }

  bool empty() const { return seen_.size() < 100; }

  Echo run() {
    Echo best;
    double least = 2;
    const auto try_one = [&](const Echo& echo) {
      const double share = levels_without(echo).share_between;
      if (share < least) least = share, best = echo;
    };
    for (double trip_s = shortest_s; trip_s < longest_s; trip_s += interval_s_)
      for (double ratio = -most_ratio; ratio <= most_ratio; ratio += 0.1) try_one({ratio, trip_s});
    for (double part = 0.5; part > 0.05; part /= 2) {
      const Echo centre = best;
      for (const double a : {-1.0, 0.0, 1.0})
        for (const double b : {-1.0, 0.0, 1.0}) try_one({centre.ratio + 0.1 * a * part, centre.round_trip_s + interval_s_ * b * part});
    }
    return best;
  }

  TwoLevels levels_without(const Echo& echo) {
    volts_.clear();
    for (const std::size_t i : seen_) volts_.push_back(without(echo, i));
    auto sorted = volts_;
    const auto at = [&](double share) {
      const auto place = sorted.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(sorted.size() - 1));
      std::nth_element(sorted.begin(), place, sorted.end());
      return *place;
    };
    TwoLevels found{.low_v = at(0.15), .high_v = at(0.85)};
    const double near_v = near_level_ratio * (found.high_v - found.low_v);
    if (!(near_v > 0)) return found;
    double sum = 0;
    for (const double v : volts_) sum += std::min(1.0, std::pow(std::min(std::abs(v - found.low_v), std::abs(v - found.high_v)) / near_v, 2));
    found.share_between = sum / static_cast<double>(volts_.size());
    return found;
  }

  double without(const Echo& echo, std::size_t i) const {
    const double place = static_cast<double>(i) - echo.round_trip_s / s_.sample_interval_s;
    if (place <= 0) return s_[i] - echo.ratio * s_[0];
    const auto k = static_cast<std::size_t>(place);
    const double x = place - static_cast<double>(k);
    return s_[i] - echo.ratio * (s_[k] + x * (s_[k + 1] - s_[k]));
  }

 private:
  const SampleView& s_;
  double interval_s_ = 0;
  std::vector<std::size_t> seen_;
  std::vector<double> volts_;
};

// Where the waveform without its echo passes the middle, once it has passed the hysteresis.
std::vector<Transition> crossings(const EchoSearch& search, const SampleView& s, const Echo& echo, const TwoLevels& levels) {
  const double middle_v = (levels.low_v + levels.high_v) / 2, beyond_v = hysteresis_ratio * (levels.high_v - levels.low_v);
  std::vector<Transition> found;
  bool high = search.without(echo, 0) > middle_v;
  double before_v = search.without(echo, 0), crossed_s = 0;
  for (std::size_t i = 1; i < s.size(); ++i) {
    const double v = search.without(echo, i);
    if ((before_v < middle_v) != (v < middle_v)) crossed_s = s.time_s(static_cast<double>(i) - 1 + (middle_v - before_v) / (v - before_v));
    before_v = v;
    if (high ? v > middle_v - beyond_v : v < middle_v + beyond_v) continue;
    high = !high;
    Transition t;
    t.mid_s = crossed_s, t.rising = high;
    found.push_back(t);
  }
  return without_ring_crossings(found);
}

}  // namespace

std::optional<DriverEdges> edges_without_echoes(const LineNode& node) {
  EchoSearch search(node);
  if (search.empty()) return {};
  const auto echo = search.run();
  const auto levels = search.levels_without(echo);
  if (levels.share_between > most_between) return {};
  const double first_arrival = 1 - echo.ratio;
  return DriverEdges{.edges = crossings(search, node.samples, echo, levels), .level_ratio = first_arrival / 2, .dwells = true,
                     .lowest_v = levels.low_v / first_arrival, .highest_v = levels.high_v / first_arrival};
}

}  // namespace pulsewright::analyzer
