#include "analyzer/pulse/edge_response.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t most_points = 1u << 21;  // samples gathered
constexpr std::size_t most_bins = 4096;
constexpr std::size_t wanted_in_bin = 6;
constexpr std::size_t enough_transitions = 48;

// One transition that contributes, from `begin_s` to `end_s` about its 50 % instant.
struct Contribution {
  double mid_s, begin_s, end_s, settled_s;
};

double quantile(std::vector<double> values, double part) {
  const auto rank = values.begin() + static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), rank, values.end());
  return *rank;
}

// Time that a transition needs beyond its 50 % instant on the side towards a neighbour.
double reach_s(const Transition& t, bool before, double least_s) {
  const float offset = before == t.rising ? t.p10_offset_s : t.p90_offset_s;
  return std::max(least_s, std::isnan(offset) ? 0.0 : 1.5 * std::abs(static_cast<double>(offset)));
}

std::vector<Contribution> contributions(const SampleView& samples, std::span<const Transition> transitions, bool rising) {
  std::vector<Contribution> all;
  const double ts = samples.sample_interval_s;
  const double first_s = samples.start_s, last_s = samples.time_s(static_cast<double>(samples.size() - 1));
  for (std::size_t i = 0; i < transitions.size(); ++i) {
    const auto& t = transitions[i];
    if (t.rising != rising) continue;
    const double from_s = i ? transitions[i - 1].mid_s + reach_s(transitions[i - 1], false, ts) : first_s;
    const double to_s = i + 1 < transitions.size() ? transitions[i + 1].mid_s - reach_s(transitions[i + 1], true, ts) : last_s;
    if (from_s < t.mid_s && t.mid_s < to_s) all.push_back({t.mid_s, from_s - t.mid_s, to_s - t.mid_s, t.mid_s - from_s});
  }
  return all;
}

// Keeps those after the longest settled states, and at most `most`, spread over the record.
void prefer_settled(std::vector<Contribution>& all, std::size_t most) {
  if (all.size() > enough_transitions) {
    std::vector<double> settled(all.size());
    std::transform(all.begin(), all.end(), settled.begin(), [](const auto& c) { return c.settled_s; });
    const double part = std::max(static_cast<double>(enough_transitions) / static_cast<double>(all.size()), 1.0 / 3);
    const double least = 0.9 * quantile(std::move(settled), 1 - part);
    std::erase_if(all, [&](const auto& c) { return c.settled_s < least; });
  }
  if (all.size() > most) {
    for (std::size_t i = 0; i < most; ++i) all[i] = all[i * all.size() / most];
    all.resize(most);
  }
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
  window.begin_s = -(options.before_s > 0 ? options.before_s : std::min(quantile(before, 0.5), 0.5 * window.end_s));
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
    const double place = (c.mid_s - samples.start_s) / samples.sample_interval_s;
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
  const auto n = points.size();
  std::sort(points.begin(), points.end(), [](const Point& a, const Point& b) { return a.v < b.v; });
  const std::size_t cut = n / 4;
  double t = 0, v = 0, all = 0, squares = 0;
  for (std::size_t i = cut; i < n - cut; ++i) t += static_cast<double>(points[i].t_s), v += static_cast<double>(points[i].v);
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

// From the mean instants of the filled bins to an even grid of bin centres, by linear interpolation.
void onto_grid(EdgeResponse& response, const std::vector<Bin>& bins, const Window& window) {
  std::size_t next = 1;
  for (std::size_t b = 0; b < window.bins(); ++b) {
    const double t_s = window.begin_s + (static_cast<double>(b) + 0.5) * window.bin_s;
    if (t_s < bins.front().t_s || t_s > bins.back().t_s) continue;
    while (next + 1 < bins.size() && bins[next].t_s < t_s) ++next;
    const auto &a = bins[next - 1], &c = bins[next];
    const double part = c.t_s > a.t_s ? (t_s - a.t_s) / (c.t_s - a.t_s) : 0.5;
    response.t_s.push_back(t_s);
    response.v.push_back(a.v + part * (c.v - a.v));
    response.sd_v.push_back(part < 0.5 ? a.sd_v : c.sd_v);
    response.samples.push_back(static_cast<std::uint32_t>(part < 0.5 ? a.samples : c.samples));
  }
}

}  // namespace

EdgeResponse edge_response(const SampleView& samples, std::span<const Transition> transitions, bool rising, const Levels& levels,
                           const EdgeResponseOptions& options) {
  EdgeResponse response;
  if (samples.size() < 2 || !levels.amplitude_v) return response;
  auto all = contributions(samples, without_ring_backs(transitions, levels), rising);
  if (all.size() < 2) return response;
  prefer_settled(all, options.most_transitions);
  const auto window = window_for(all, options, samples.sample_interval_s);
  if (!(window.end_s > window.begin_s) || window.bins() == 0) return response;
  const auto samples_each = static_cast<std::size_t>((window.end_s - window.begin_s) / samples.sample_interval_s) + 1;
  prefer_settled(all, std::max<std::size_t>(2, std::min(options.most_transitions, most_points / samples_each)));

  BinnedPoints binned(samples, all, window);
  response.bin_s = window.bin_s;
  response.transitions = all.size();
  std::vector<Bin> bins;
  for (std::size_t b = 0; b < window.bins(); ++b)
    if (const auto points = binned.bin(b); !points.empty()) bins.push_back(summary_of(points));
  drop_thin_ends(bins);
  if (bins.size() > 1) onto_grid(response, bins, window);
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
