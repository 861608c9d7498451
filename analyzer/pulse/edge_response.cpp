#include "analyzer/pulse/edge_response.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include "analyzer/pulse/edge_history.hpp"
#include "analyzer/pulse/sample_scan.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t most_points = 1u << 19;  // samples gathered: some hundred in a bin
constexpr std::size_t most_bins = 4096;
constexpr std::size_t wanted_in_bin = 6;
constexpr std::size_t enough_transitions = 48;
constexpr double dwell_slope_ratio = 0.3;  // a slope at 50 % below this part of the steepest one: the edge dwells there

// One transition that contributes, from `begin_s` to `end_s` about the instant `at_s` by which it is aligned.
struct Contribution {
  double at_s, begin_s, end_s;
};

double quantile(std::vector<double> values, double part) {
  const auto rank = values.begin() + static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), rank, values.end());
  return *rank;
}

// Time that a transition needs beyond its 50 % instant on the side towards a neighbour. A Gaussian edge has 2.7 % of its way
// left at 1.5 times the way from 50 to 10 %, 0.07 % at 2.5 times (error function); longer feet cost a ring its last cycles.
constexpr double near_reach = 1.5, whole_reach = 2.5;
double reach_s(const Transition& t, bool before, double least_s, double reach) {
  const float offset = before ? t.p10_offset_s : t.p90_offset_s;
  return std::max(least_s, std::isnan(offset) ? 0.0 : reach * std::abs(static_cast<double>(offset)));
}

// Median way from 10 to 50 % of the transitions in one direction; 0 where none begins at its state.
double usual_p10_offset_s(std::span<const Transition> transitions, bool rising) {
  std::vector<double> offsets_s;
  for (const auto& t : transitions)
    if (t.rising == rising && !std::isnan(t.p10_offset_s)) offsets_s.push_back(std::abs(static_cast<double>(t.p10_offset_s)));
  return offsets_s.empty() ? 0 : quantile(std::move(offsets_s), 0.5);
}

// The samples of one transition, up in both directions: from 0 to 1 between the states.
class Edge {
 public:
  Edge(const SampleView& samples, const Levels& levels, const Transition& t, double from_s, double to_s)
      : samples_(samples), old_v_(t.rising ? *levels.low_v : *levels.high_v), step_v_(t.rising ? *levels.amplitude_v : -*levels.amplitude_v),
        middle_(index(t.mid_s)), first_(index(from_s)), last_(index(to_s)) {}

  // Steepest rise between two samples within 15 to 85 %, its middle, and the rise across the 50 % instant.
  struct Steepness {
    double level = 0.5, steepest = 0, at_middle = 0;
  };
  Steepness steepness() const {
    Steepness found;
    for (std::size_t i = first_; i < last_; ++i) {
      if (y(i) < 0.14) i = std::max(i, first_beyond(i, 0.14, true) - 1);  // a pause before the edge
      else if (y(i) > 0.86) i = std::max(i, first_beyond(i, 0.86, false) - 1);
      if (i >= last_) break;
      const double rise = y(i + 1) - y(i), level = (y(i) + y(i + 1)) / 2;
      if (level > 0.15 && level < 0.85 && rise > found.steepest) found.steepest = rise, found.level = level;
    }
    if (middle_ + 1 < samples_.size()) found.at_middle = y(middle_ + 1) - y(middle_);
    return found;
  }

  // Crossing of `level` nearest to the 50 % instant on the way there; not a number where there is none.
  double crossing_s(double level) const {
    if (level < 0.5) {
      for (std::size_t i = middle_ + 1; i > first_; --i)
        if (y(i) >= level && y(i - 1) < level) return between(i - 1, level);
    } else {
      for (std::size_t i = middle_; i < last_; ++i)
        if (y(i) < level && y(i + 1) >= level) return between(i, level);
    }
    return std::numeric_limits<double>::quiet_NaN();
  }

 private:
  std::size_t index(double t_s) const {
    const double place = (t_s - samples_.start_s) / samples_.sample_interval_s;
    return static_cast<std::size_t>(std::clamp(place, 0.0, static_cast<double>(samples_.size() - 2)));
  }
  double y(std::size_t i) const { return (samples_[i] - old_v_) / step_v_; }
  // First sample from `i` on above or below a level, or the one behind the last.
  std::size_t first_beyond(std::size_t i, double level, bool above) const {
    const double raw = (old_v_ + level * step_v_ - samples_.offset) / samples_.scale;
    const bool raw_above = (above == (step_v_ > 0)) == (samples_.scale > 0);
    return (raw_above ? first_above : first_below)(samples_.blocked(), i, last_ + 1, static_cast<float>(raw));
  }
  double between(std::size_t i, double level) const {
    return samples_.time_s(static_cast<double>(i) + (level - y(i)) / (y(i + 1) - y(i)));
  }
  const SampleView& samples_;
  double old_v_, step_v_;
  std::size_t middle_, first_, last_;
};

struct Gathered {
  std::vector<Contribution> all;
  double middle_s = 0;  ///< median distance of the 50 % instants from the instants of alignment
};

// A line that fills up in steps may dwell about 50 %, where noise decides the instant: then the edges are aligned on the
// level at which they are steepest.
Gathered gather(const SampleView& samples, std::span<const Transition> transitions, const std::vector<std::size_t>& chosen, const Levels& levels, bool apart) {
  const double ts = samples.sample_interval_s;
  const double first_s = samples.start_s, last_s = samples.time_s(static_cast<double>(samples.size() - 1));
  const auto from_s = [&](std::size_t i) {
    if (i == 0) return first_s;
    const double before_s = transitions[i - 1].mid_s;
    return apart ? (before_s + transitions[i].mid_s) / 2 : before_s + reach_s(transitions[i - 1], false, ts, near_reach);
  };
  // The line may not have come to its state when the next transition begins: that one then has no 10 % instant, but a foot as the
  // others have, and at most half of the pulse is given up for it.
  const double usual_foot_s = usual_p10_offset_s(transitions, !transitions[chosen.front()].rising);
  const auto to_s = [&](std::size_t i) {
    if (i + 1 == transitions.size()) return last_s;
    const auto& next = transitions[i + 1];
    const double reach = apart ? whole_reach : near_reach;
    if (!std::isnan(next.p10_offset_s)) return next.mid_s - reach_s(next, true, ts, reach);
    return next.mid_s - std::max(ts, std::min(reach * usual_foot_s, (next.mid_s - transitions[i].mid_s) / 2));
  };
  std::vector<double> level, steepest, at_middle;
  for (const auto i : chosen) {
    const auto found = Edge(samples, levels, transitions[i], from_s(i), to_s(i)).steepness();
    level.push_back(found.level), steepest.push_back(found.steepest), at_middle.push_back(found.at_middle);
  }
  const bool dwells = quantile(at_middle, 0.5) < dwell_slope_ratio * quantile(steepest, 0.5);
  const double aligned = dwells ? quantile(level, 0.5) : 0.5;
  Gathered gathered;
  std::vector<double> middles;
  for (const auto i : chosen) {
    const auto& t = transitions[i];
    const double at_s = dwells ? Edge(samples, levels, t, from_s(i), to_s(i)).crossing_s(aligned) : t.mid_s;
    if (!(from_s(i) < at_s && at_s < to_s(i))) continue;
    gathered.all.push_back({at_s, from_s(i) - at_s, to_s(i) - at_s});
    middles.push_back(t.mid_s - at_s);
  }
  if (!middles.empty()) gathered.middle_s = quantile(std::move(middles), 0.5);
  return gathered;
}

template <class Item>
void spread_over(std::vector<Item>& all, std::size_t most) {
  if (all.size() <= most) return;
  for (std::size_t i = 0; i < most; ++i) all[i] = all[i * all.size() / most];
  all.resize(most);
}

struct Window {
  double begin_s, end_s, bin_s;
  std::size_t bins() const { return static_cast<std::size_t>(std::ceil((end_s - begin_s) / bin_s)); }
};

// As far as a quarter of the transitions reach before and after, at most twice the usual pulse; bins as fine as the
// number of transitions fills.
Window window_for(const std::vector<Contribution>& all, const EdgeResponseOptions& options, double sample_interval_s) {
  std::vector<double> before, after;
  for (const auto& c : all) before.push_back(-c.begin_s), after.push_back(c.end_s);
  Window window{};
  const double after_s = std::min(quantile(after, 0.75), 4 * quantile(after, 0.5));
  window.end_s = options.after_s > 0 ? options.after_s : after_s;
  const double before_s = quantile(before, 0.5);
  window.begin_s = -(options.before_s > 0 ? options.before_s : options.apart ? before_s : std::min(before_s, 0.5 * window.end_s));
  const double finest = std::max<double>(options.bins_a_sample, 1);
  const double filled = static_cast<double>(all.size()) / static_cast<double>(wanted_in_bin);
  window.bin_s = sample_interval_s / std::clamp(std::floor(filled), 1.0, finest);
  window.bin_s = std::max(window.bin_s, (window.end_s - window.begin_s) / static_cast<double>(most_bins));
  return window;
}

struct Point {
  float t_s, v;
};

// The samples of all contributions, sorted into bins by counting.
class BinnedPoints {
 public:
  BinnedPoints(const SampleView& samples, const std::vector<Contribution>& all, const Window& window)
      : starts_(window.bins() + 1, 0) {
    const auto visit = [&](auto&& use) {
      for (const auto& c : all) visit_one(samples, c, window, use);
    };
    visit([&](std::size_t bin, float, double) { ++starts_[bin + 1]; });
    std::partial_sum(starts_.begin(), starts_.end(), starts_.begin());
    points_.resize(starts_.back());
    auto next = starts_;
    visit([&](std::size_t bin, float t, double v) { points_[next[bin]++] = {t, static_cast<float>(v)}; });
  }
  std::span<Point> bin(std::size_t index) {
    return std::span(points_).subspan(starts_[index], starts_[index + 1] - starts_[index]);
  }

 private:
  template <class Use>
  static void visit_one(const SampleView& samples, const Contribution& c, const Window& window, Use& use) {
    const double begin_s = std::max(c.begin_s, window.begin_s), end_s = std::min(c.end_s, window.end_s);
    const double place = (c.at_s - samples.start_s) / samples.sample_interval_s;
    const double first = std::max(0.0, std::ceil(place + begin_s / samples.sample_interval_s));
    const double last = std::min(static_cast<double>(samples.size() - 1), place + end_s / samples.sample_interval_s);
    const std::size_t bins = window.bins();
    for (double i = first; i <= last; ++i) {
      const double t_s = (i - place) * samples.sample_interval_s;
      const auto bin = std::min(static_cast<std::size_t>(std::max(0.0, (t_s - window.begin_s) / window.bin_s)), bins - 1);
      use(bin, static_cast<float>(t_s), samples[static_cast<std::size_t>(i)]);
    }
  }
  std::vector<std::size_t> starts_;
  std::vector<Point> points_;
};

struct Bin {
  double t_s, v, sd_v;
  std::size_t samples;
};

// Mean of the middle half by value, of both time and level, so that a bin on a slope stands at the right instant.
Bin summary_of(std::span<Point> points) {
  const auto n = points.size(), cut = n / 4;
  const auto below = [](const Point& a, const Point& b) { return a.v < b.v; };
  const auto lower = points.begin() + static_cast<std::ptrdiff_t>(cut), upper = points.end() - static_cast<std::ptrdiff_t>(cut);
  if (cut > 0) {  // only the quarters are told apart: their order within does not matter
    std::nth_element(points.begin(), lower, points.end(), below);
    std::nth_element(lower, upper, points.end(), below);
  }
  double t = 0, v = 0, all = 0, squares = 0;
  for (auto p = lower; p != upper; ++p) t += static_cast<double>(p->t_s), v += static_cast<double>(p->v);
  for (const auto& p : points) all += static_cast<double>(p.v) / static_cast<double>(n);
  for (const auto& p : points) squares += (static_cast<double>(p.v) - all) * (static_cast<double>(p.v) - all);
  const auto used = static_cast<double>(n - 2 * cut);
  return {t / used, v / used, n > 1 ? std::sqrt(squares / static_cast<double>(n - 1)) : 0, n};
}

// Where the last transitions run out, a bin of a few samples says little: ends below a third of the fullest bin go.
void drop_thin_ends(std::vector<Bin>& bins) {
  std::size_t fullest = 0;
  for (const auto& b : bins) fullest = std::max(fullest, b.samples);
  const auto thin = [&](const Bin& b) { return 3 * b.samples < fullest; };
  while (!bins.empty() && thin(bins.back()) && bins.back().t_s > 0) bins.pop_back();
  bins.erase(bins.begin(), std::find_if(bins.begin(), bins.end(), [&](const Bin& b) { return !thin(b) || b.t_s > 0; }));
}

// From the mean instants of the filled bins to an even grid of bin centres, by linear interpolation. Where the sample clock goes
// with the bits some bins stay empty: the nearest filled one then stands for several, and none of them has its samples alone.
void onto_grid(EdgeResponse& response, const std::vector<Bin>& bins, const Window& window) {
  std::size_t next = 1;
  std::vector<std::size_t> nearest;
  for (std::size_t b = 0; b < window.bins(); ++b) {
    const double t_s = window.begin_s + (static_cast<double>(b) + 0.5) * window.bin_s;
    if (t_s < bins.front().t_s || t_s > bins.back().t_s) continue;
    while (next + 1 < bins.size() && bins[next].t_s < t_s) ++next;
    const auto &a = bins[next - 1], &c = bins[next];
    const double part = c.t_s > a.t_s ? (t_s - a.t_s) / (c.t_s - a.t_s) : 0.5;
    response.t_s.push_back(t_s);
    response.v.push_back(a.v + part * (c.v - a.v));
    nearest.push_back(part < 0.5 ? next - 1 : next);
    response.sd_v.push_back(bins[nearest.back()].sd_v);
  }
  std::vector<double> stands_for(bins.size(), 0);
  for (const auto bin : nearest) stands_for[bin] += 1;
  for (const auto bin : nearest) response.samples.push_back(static_cast<double>(bins[bin].samples) / stands_for[bin]);
}

// Moves the time axis so that the response itself is at 50 % at 0: of several crossings the one nearest to `near_s`.
void zero_at_middle(EdgeResponse& response, double middle_v, double near_s) {
  double zero_s = near_s, distance_s = std::numeric_limits<double>::max();
  for (std::size_t i = 1; i < response.t_s.size(); ++i) {
    const double a = response.v[i - 1] - middle_v, b = response.v[i] - middle_v;
    if ((a < 0) == (b < 0)) continue;
    const double at_s = response.t_s[i - 1] + a / (a - b) * (response.t_s[i] - response.t_s[i - 1]);
    if (std::abs(at_s - near_s) < distance_s) distance_s = std::abs(at_s - near_s), zero_s = at_s;
  }
  for (auto& t_s : response.t_s) t_s -= zero_s;
}

}  // namespace

EdgeResponse edge_response(const SampleView& samples, std::span<const Transition> transitions, bool rising, const Levels& levels,
                           const EdgeResponseOptions& options) {
  EdgeResponse response;
  if (samples.size() < 2 || !levels.amplitude_v) return response;
  const auto kept = without_ring_backs(transitions, levels);
  const auto driven = kept ? std::span<const Transition>(*kept) : transitions;
  auto chosen = transitions_of_one_history(driven, rising, samples.start_s, enough_transitions);
  if (chosen.size() < 2) return response;
  spread_over(chosen, options.most_transitions);
  auto [all, middle_s] = gather(samples, driven, chosen, levels, options.apart);
  if (all.size() < 2) return response;
  const auto window = window_for(all, options, samples.sample_interval_s);
  if (!(window.end_s > window.begin_s) || window.bins() == 0) return response;
  const auto samples_each = static_cast<std::size_t>((window.end_s - window.begin_s) / samples.sample_interval_s) + 1;
  spread_over(all, std::max<std::size_t>(2, std::min(options.most_transitions, most_points / samples_each)));

  BinnedPoints binned(samples, all, window);
  response.bin_s = window.bin_s;
  response.transitions = all.size();
  std::vector<Bin> bins;
  for (std::size_t b = 0; b < window.bins(); ++b)
    if (const auto points = binned.bin(b); !points.empty()) bins.push_back(summary_of(points));
  drop_thin_ends(bins);
  if (bins.size() < 2) return response;
  onto_grid(response, bins, window);
  zero_at_middle(response, (*levels.low_v + *levels.high_v) / 2, middle_s);
  return response;
}

double value_at(const EdgeResponse& response, double t_s) {
  if (response.empty() || t_s < response.t_s.front() || t_s > response.t_s.back()) return std::numeric_limits<double>::quiet_NaN();
  const auto after = std::lower_bound(response.t_s.begin(), response.t_s.end(), t_s) - response.t_s.begin();
  const auto k = static_cast<std::size_t>(after);
  if (k == 0) return response.v[0];
  const double t0 = response.t_s[k - 1], t1 = response.t_s[k];
  const double part = t1 > t0 ? (t_s - t0) / (t1 - t0) : 1;
  return response.v[k - 1] + part * (response.v[k] - response.v[k - 1]);
}

}  // namespace pulsewright::analyzer
