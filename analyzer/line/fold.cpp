#include "analyzer/line/fold.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t most_members = 80;
constexpr std::size_t bins_a_class = 140;
constexpr std::size_t edges_before = 7;
constexpr double widest_after_s = 1.6e-6, widest_before_s = 150e-9;
constexpr double odd_width_s = 60e-9;  // an edge whose neighbours lie further than this from the usual place is left out

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Splits high times into two groups at the middle of their range; one group when they are alike.
double split_width(std::span<const Transition> t, std::optional<double> fallback_s) {
  std::vector<double> highs;
  for (std::size_t i = 0; i + 1 < t.size(); ++i)
    if (t[i].rising) highs.push_back(t[i + 1].mid_s - t[i].mid_s);
  if (highs.empty()) return fallback_s.value_or(600e-9);
  std::sort(highs.begin(), highs.end());
  const double low = highs[highs.size() / 20], high = highs[highs.size() - 1 - highs.size() / 20];
  if (high - low < 0.25 * low) return fallback_s.value_or(600e-9);
  return (low + high) / 2;
}

double pause_width(std::span<const Transition> t) {
  std::vector<double> lows;
  for (std::size_t i = 0; i + 1 < t.size(); ++i)
    if (!t[i].rising) lows.push_back(t[i + 1].mid_s - t[i].mid_s);
  return lows.empty() ? 2.5e-6 : std::max(3 * median(std::move(lows)), 2e-6);
}

constexpr int pause = 2;
constexpr std::size_t most_keys = 36;

// What a transition is: direction, its bit, the bits before it. `before_that` is a pause where one bit of history is enough.
struct Key {
  bool rising = false, one = false;
  int before = pause, before_that = pause;

  std::size_t index() const { return (rising ? 18u : 0u) + (one ? 9u : 0u) + static_cast<std::size_t>(before) * 3 + static_cast<std::size_t>(before_that); }
};

// Bits of the record's pulses, seen from any transition.
class Bits {
 public:
  Bits(std::span<const Transition> t, double split_s, double pause_s, bool deep)
      : t_(t), split_s_(split_s), pause_s_(pause_s), deep_(deep) {}

  // Nothing where the record's ends hide what it is.
  std::optional<Key> key(std::size_t i) const {
    const std::size_t rise = t_[i].rising ? i : i - 1;
    if ((!t_[i].rising && i == 0) || rise + 1 >= t_.size()) return {};
    Key key{.rising = t_[i].rising, .one = bit(rise) == 1};
    const auto before = bit_before(rise);
    if (!before) return {};
    key.before = *before;
    if (key.before == pause || !deep_) return key;
    const auto before_that = bit_before(rise - 2);
    if (!before_that) return {};
    key.before_that = *before_that;
    return key;
  }

 private:
  int bit(std::size_t rise) const { return t_[rise + 1].mid_s - t_[rise].mid_s > split_s_ ? 1 : 0; }

  std::optional<int> bit_before(std::size_t rise) const {
    if (rise == 0 || t_[rise].mid_s - t_[rise - 1].mid_s >= pause_s_) return pause;
    if (rise < 2) return {};
    return bit(rise - 2);
  }

  std::span<const Transition> t_;
  double split_s_, pause_s_;
  bool deep_;
};

struct Member {
  std::size_t index;
  std::array<double, edges_before> offsets;  // earlier edges, nearest first
  std::size_t depth;  // how many of them
};

class Folder {
 public:
  explicit Folder(const LineNode& node)
      : node_(node), t_(node.transitions), pause_s_(pause_width(t_)) {
    const Bits bits(t_, split_width(t_, {}), pause_s_, node.dwells);
    for (std::size_t i = 0; i < t_.size(); ++i) {
      keys_.push_back(bits.key(i));
      if (keys_.back()) with_key_[keys_.back()->index()].push_back(i);
    }
    place_.fill(-1);
  }

  std::vector<EdgeClass> run() {
    std::vector<EdgeClass> classes;
    for (std::size_t key = 0; key < most_keys; ++key) {
      auto members = members_of(key);
      if (members.size() < 2) continue;
      auto made = fold(members);
      if (made.t_s.size() < 8) continue;
      place_[key] = static_cast<int>(classes.size());
      classes.push_back(std::move(made));
    }
    for (auto& each : classes) {
      for (auto& key : each.class_of) key = key < 0 ? -1 : place_[static_cast<std::size_t>(key)];
    }
    return classes;
  }

 private:
  std::vector<Member> members_of(std::size_t key) const {
    std::vector<Member> all;
    for (const std::size_t i : with_key_[key]) {
      Member member{.index = i, .offsets = {}, .depth = 0};
      for (std::size_t back = 1; back <= std::min(i, edges_before); ++back) {
        if (t_[i - back + 1].mid_s - t_[i - back].mid_s > pause_s_) break;
        member.offsets[member.depth++] = t_[i - back].mid_s - t_[i].mid_s;
      }
      all.push_back(member);
    }
    if (all.size() > 2) drop_odd(all);
    if (all.size() > most_members) {
      std::vector<Member> spread;
      for (std::size_t i = 0; i < most_members; ++i) spread.push_back(all[i * all.size() / most_members]);
      all = std::move(spread);
    }
    return all;
  }

  static void drop_odd(std::vector<Member>& all) {
    std::vector<double> counts;
    for (const auto& m : all) counts.push_back(static_cast<double>(m.depth));
    const auto usual = static_cast<std::size_t>(median(counts));
    std::erase_if(all, [&](const Member& m) { return m.depth < usual; });
    for (std::size_t k = 0; k < std::min<std::size_t>(usual, 2) && all.size() > 2; ++k) {
      std::vector<double> offsets;
      for (const auto& m : all) offsets.push_back(m.offsets[k]);
      const double middle = median(offsets);
      std::erase_if(all, [&](const Member& m) { return std::abs(m.offsets[k] - middle) > odd_width_s; });
    }
    for (auto& m : all) m.depth = usual;
  }

  int index_of(std::size_t transition) const { return keys_[transition] ? static_cast<int>(keys_[transition]->index()) : -1; }

  EdgeClass fold(const std::vector<Member>& members) const {
    const Key& key = *keys_[members.front().index];
    EdgeClass made;
    made.end = node_.at == ProbePosition::near ? LineEnd::near : LineEnd::far;
    made.rising = key.rising, made.one = key.one, made.before = key.before, made.before_that = key.before_that;
    made.alignment_ratio = node_.alignment_ratio;
    made.members = members.size();
    std::size_t depth = edges_before;
    for (const auto& m : members) depth = std::min(depth, m.depth);
    for (std::size_t back = depth; back > 0; --back) {
      double sum = 0;
      for (const auto& m : members) sum += m.offsets[back - 1];
      made.edges.push_back({sum / static_cast<double>(members.size()), back % 2 == 0 ? made.rising : !made.rising});
      made.class_of.push_back(index_of(members[members.size() / 2].index - back));
    }
    made.own = made.edges.size();
    made.edges.push_back({0, made.rising});
    made.class_of.push_back(static_cast<int>(key.index()));
    const double next_s = add_next(made, members);
    const double previous_s = made.own > 0 ? -made.edges[made.own - 1].time_s : 1;
    gather(made, members, std::min(widest_before_s, 0.4 * previous_s), std::min(widest_after_s, 0.95 * next_s));
    return made;
  }

  double add_next(EdgeClass& made, const std::vector<Member>& members) const {
    std::vector<double> next;
    for (const auto& m : members)
      if (m.index + 1 < t_.size()) next.push_back(t_[m.index + 1].mid_s - t_[m.index].mid_s);
    if (next.size() < members.size()) return next.empty() ? widest_after_s : *std::min_element(next.begin(), next.end()) * 0.8;
    const auto [least, most] = std::minmax_element(next.begin(), next.end());
    if (*most - *least > odd_width_s) return 0.9 * *least;  // the next edge comes when it likes: stop before it
    double sum = 0;
    for (const double n : next) sum += n;
    made.edges.push_back({sum / static_cast<double>(next.size()), !made.rising});
    made.class_of.push_back(index_of(members[members.size() / 2].index + 1));
    return *least;
  }

  void gather(EdgeClass& made, const std::vector<Member>& members, double before_s, double after_s) const {
    const auto& s = node_.samples;
    const double bin_s = std::max((before_s + after_s) / static_cast<double>(bins_a_class), s.sample_interval_s / 10);
    struct Sum {
      double n = 0, t = 0, v = 0, vv = 0;
      bool low = false, high = false;  // samples at an end of the range
    };
    std::vector<Sum> bins(static_cast<std::size_t>((before_s + after_s) / bin_s) + 1);
    for (const auto& m : members) {
      const double place = (t_[m.index].mid_s - s.start_s) / s.sample_interval_s;
      const double first = std::max(0.0, std::ceil(place - before_s / s.sample_interval_s));
      const double last = std::min(static_cast<double>(s.size()) - 1, place + after_s / s.sample_interval_s);
      for (double i = first; i <= last; ++i) {
        const double t = (i - place) * s.sample_interval_s, v = s[static_cast<std::size_t>(i)];
        auto& bin = bins[std::min(bins.size() - 1, static_cast<std::size_t>(std::max(0.0, (t + before_s) / bin_s)))];
        bin.n += 1, bin.t += t, bin.v += v, bin.vv += v * v;
        bin.low |= v <= node_.range_low_v, bin.high |= v >= node_.range_high_v;
      }
    }
    const bool has_range = std::isfinite(node_.range_low_v) || std::isfinite(node_.range_high_v);
    for (const auto& bin : bins) {
      if (bin.n == 0) continue;
      const double mean = bin.v / bin.n;
      const double variance = bin.n > 1 ? std::max(0.0, bin.vv / bin.n - mean * mean) * bin.n / (bin.n - 1) : 0;
      made.t_s.push_back(bin.t / bin.n);
      made.v.push_back(mean);
      made.u_v.push_back(std::sqrt(std::max(variance, node_.noise_rms_v * node_.noise_rms_v) / bin.n));
      if (has_range) made.cut_off.push_back(static_cast<signed char>(bin.high - bin.low));
    }
  }

  const LineNode& node_;
  std::span<const Transition> t_;
  double pause_s_;
  std::vector<std::optional<Key>> keys_;
  std::array<std::vector<std::size_t>, most_keys> with_key_;  // transitions by Key::index()
  std::array<int, most_keys> place_{};
};

}  // namespace

std::vector<EdgeClass> fold_edges(const LineNode& node) {
  if (node.transitions.size() < 4 || node.samples.size() < 16) return {};
  return Folder(node).run();
}

BitTimes bit_times(std::span<const Transition> t, const TimingWindows& windows) {
  BitTimes times;
  const auto typical = [](const Window& w, double& s) {
    if (!w.empty()) s = w.typical_s();
  };
  typical(windows.t0h, times.zero_high_s), typical(windows.t1h, times.one_high_s);
  typical(windows.t0l, times.zero_low_s), typical(windows.t1l, times.one_low_s);
  if (t.size() < 4) return times;
  const double split_s = split_width(t, (times.zero_high_s + times.one_high_s) / 2), pause_s = pause_width(t);
  std::array<std::vector<double>, 4> widths;
  for (std::size_t i = 0; i + 1 < t.size(); ++i) {
    if (!t[i].rising) continue;
    const double high = t[i + 1].mid_s - t[i].mid_s;
    const std::size_t one = high > split_s ? 1 : 0;
    widths[one].push_back(high);
    if (i + 2 < t.size() && t[i + 2].mid_s - t[i + 1].mid_s < pause_s) widths[2 + one].push_back(t[i + 2].mid_s - t[i + 1].mid_s);
  }
  const std::array<double*, 4> places{&times.zero_high_s, &times.one_high_s, &times.zero_low_s, &times.one_low_s};
  for (std::size_t k = 0; k < 4; ++k) {
    if (!widths[k].empty()) *places[k] = median(widths[k]), times.measured = true;
  }
  return times;
}

}  // namespace pulsewright::analyzer
