#include "analyzer/pulse/edge_history.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <map>
#include <numeric>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t deepest = 4;
constexpr double least_pause_s = 2e-6;  // longer than the period of 800 kbit/s; a bit of 400 kbit/s stays below 3 medians
constexpr double settled_alike = 0.9;

double rank_of(std::vector<double> values, double part) {
  const auto rank = values.begin() + static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), rank, values.end());
  return *rank;
}

// Where short ends and long begins, for highs and lows; and how long a low is a pause.
struct Splits {
  double high_s = 0, low_s = 0, pause_s = 0;
};

double split_of(const std::vector<double>& widths) {
  if (widths.empty()) return 0;
  const double low = rank_of(widths, 0.05), high = rank_of(widths, 0.95);
  return high - low < 0.25 * low ? 0 : (low + high) / 2;  // alike: all long
}

Splits splits_of(std::span<const Transition> t) {
  std::vector<double> highs, lows;
  for (std::size_t i = 1; i < t.size(); ++i) (t[i].rising ? lows : highs).push_back(t[i].mid_s - t[i - 1].mid_s);
  Splits splits;
  splits.pause_s = lows.empty() ? least_pause_s : std::max(least_pause_s, 3 * rank_of(lows, 0.5));
  std::erase_if(lows, [&](double width_s) { return width_s > splits.pause_s; });
  splits.high_s = split_of(highs);
  splits.low_s = split_of(lows);
  return splits;
}

using History = std::array<std::uint8_t, deepest>;  // nearest interval first; 0: none or beyond a pause
enum : std::uint8_t { none, short_one, long_one, pause, cut };

History history_of(std::span<const Transition> t, std::size_t index, double start_s, const Splits& splits) {
  History history{};
  for (std::size_t k = 0; k < deepest; ++k) {
    const bool at_start = index < k + 1;
    const double from_s = at_start ? start_s : t[index - k - 1].mid_s;
    const double width_s = t[index - k].mid_s - from_s;
    const bool low = t[index - k].rising;
    if (low && width_s > splits.pause_s) {
      history[k] = pause;
      return history;
    }
    if (at_start) {
      history[k] = cut;
      return history;
    }
    history[k] = width_s < (low ? splits.low_s : splits.high_s) ? short_one : long_one;
  }
  return history;
}

struct Group {
  std::vector<std::size_t> members;  // places in the list of all
  std::vector<double> settled_s;
};
using Groups = std::map<History, Group>;

// The group after the longest settled state among those with enough members, of alike ones the most common; null without one.
const Group* best_of(const Groups& groups, std::size_t enough) {
  const Group* best = nullptr;
  double best_settled_s = 0;
  for (const auto& [history, group] : groups) {
    if (group.members.size() < enough || std::find(history.begin(), history.end(), cut) != history.end()) continue;
    const double settled_s = rank_of(group.settled_s, 0.5);
    const bool longer = settled_s * settled_alike > best_settled_s;
    const bool alike = settled_s > settled_alike * best_settled_s;
    if (best && !longer && !(alike && group.members.size() > best->members.size())) continue;
    best = &group;
    best_settled_s = settled_s;
  }
  return best;
}

struct Instance {
  std::size_t index;
  double settled_s;
  History history;
};

Groups groups_of(const std::vector<Instance>& all, const std::vector<std::size_t>& among, std::size_t depth) {
  Groups groups;
  for (const auto place : among) {
    auto key = all[place].history;
    std::fill(key.begin() + static_cast<std::ptrdiff_t>(depth), key.end(), none);
    groups[key].members.push_back(place);
    groups[key].settled_s.push_back(all[place].settled_s);
  }
  return groups;
}

const Group* most_common(const Groups& groups) {
  const Group* common = nullptr;
  for (const auto& [history, group] : groups)
    if (!common || group.members.size() > common->members.size()) common = &group;
  return common;
}

}  // namespace

std::vector<std::size_t> transitions_of_one_history(std::span<const Transition> transitions, bool rising, double start_s,
                                                    std::size_t enough) {
  const Splits splits = splits_of(transitions);
  std::vector<Instance> all;
  for (std::size_t i = 0; i < transitions.size(); ++i) {
    if (transitions[i].rising != rising) continue;
    const double from_s = i > 0 ? transitions[i - 1].mid_s : start_s;
    all.push_back({i, transitions[i].mid_s - from_s, history_of(transitions, i, start_s, splits)});
  }
  std::vector<std::size_t> chosen(all.size());
  std::iota(chosen.begin(), chosen.end(), std::size_t{0});
  for (std::size_t depth = 1; depth <= deepest; ++depth) {
    const auto groups = groups_of(all, chosen, depth);
    const auto* group = depth == 1 ? best_of(groups, enough) : most_common(groups);
    if (depth == 1 && !group) {
      group = most_common(groups);
      if (group && 2 * group->members.size() >= enough) chosen = group->members;
      break;
    }
    if (group->members.size() < enough) break;
    chosen = group->members;
  }
  for (auto& place : chosen) place = all[place].index;
  return chosen;
}

}  // namespace pulsewright::analyzer
