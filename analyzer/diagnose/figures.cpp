#include "analyzer/diagnose/figures.hpp"

#include <algorithm>
#include <cmath>

#include "analyzer/pulse/sample_scan.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t kColumns = 4000;
constexpr std::size_t kTraces = 200;
constexpr std::size_t kPointsOfTrace = 600;

void widen(float& low, float& high, double value) {
  low = std::min(low, static_cast<float>(value));
  high = std::max(high, static_cast<float>(value));
}

RecordView logic_view(const Node& node) {
  RecordView view;
  view.start_s = node.start_s();
  if (!(node.capture->span_s > 0)) return view;
  view.column_s = node.capture->span_s / static_cast<double>(kColumns);
  view.min_v.assign(kColumns, 2);
  view.max_v.assign(kColumns, -1);
  const auto column_of = [&](double time_s) {
    return static_cast<std::size_t>(std::clamp((time_s - view.start_s) / view.column_s, 0.0, kColumns - 1.0));
  };
  bool high = node.transitions.empty() ? !node.channel->changes.empty() && node.channel->changes.front().high
                                       : !node.transitions.front().rising;
  std::size_t column = 0;
  const auto fill_to = [&](std::size_t last) {
    for (; column < last; ++column) widen(view.min_v[column], view.max_v[column], high ? 1 : 0);
    widen(view.min_v[last], view.max_v[last], high ? 1 : 0);
  };
  for (const auto& transition : node.transitions) {
    fill_to(column_of(transition.mid_s));
    high = transition.rising;
    widen(view.min_v[column], view.max_v[column], high ? 1 : 0);
  }
  fill_to(kColumns - 1);
  return view;
}

// Indices of the pulses to draw: odd ones first, then evenly over the record.
std::vector<std::size_t> chosen(std::span<const BitPulse> pulses, const TimingWindows& windows) {
  const auto odd = [&](const BitPulse& pulse) {
    const Window& window = pulse.one ? windows.t1h : windows.t0h;
    return pulse.undecided || pulse.width_s < window.min_s.value_or(0) || pulse.width_s > window.max_s.value_or(1);
  };
  std::vector<std::size_t> indices;
  for (std::size_t index = 0; index < pulses.size() && indices.size() < kTraces / 2; ++index) {
    if (odd(pulses[index])) indices.push_back(index);
  }
  const std::size_t room = kTraces - indices.size();
  const double stride = std::max(1.0, static_cast<double>(pulses.size()) / static_cast<double>(room));
  for (double place = 0; place < static_cast<double>(pulses.size()) && indices.size() < kTraces; place += stride) {
    indices.push_back(static_cast<std::size_t>(place));
  }
  std::sort(indices.begin(), indices.end());
  indices.erase(std::unique(indices.begin(), indices.end()), indices.end());
  return indices;
}

void trace_samples(FoldedBits::Trace& trace, const SampleView& samples, double origin_s, double from_s, double to_s) {
  const double interval_s = samples.sample_interval_s;
  const double first = std::max(0.0, std::ceil((origin_s + from_s - samples.start_s) / interval_s));
  const double last =
      std::min(static_cast<double>(samples.size()) - 1, std::floor((origin_s + to_s - samples.start_s) / interval_s));
  if (last < first) return;
  const auto stride = 1 + static_cast<std::size_t>(last - first) / kPointsOfTrace;
  for (auto index = static_cast<std::size_t>(first); index <= static_cast<std::size_t>(last); index += stride) {
    trace.t_s.push_back(static_cast<float>(samples.time_s(static_cast<double>(index)) - origin_s));
    trace.v.push_back(static_cast<float>(samples[index]));
  }
}

void trace_logic(FoldedBits::Trace& trace, std::span<const Transition> transitions, double origin_s, double from_s,
                 double to_s) {
  const auto later =
      std::lower_bound(transitions.begin(), transitions.end(), origin_s + from_s,
                       [](const Transition& transition, double time_s) { return transition.mid_s < time_s; });
  bool high = later == transitions.end() ? (!transitions.empty() && transitions.back().rising) : !later->rising;
  const auto point = [&](double time_s) {
    trace.t_s.push_back(static_cast<float>(time_s));
    trace.v.push_back(high ? 1.0f : 0.0f);
  };
  point(from_s);
  for (auto edge = later; edge != transitions.end() && edge->mid_s <= origin_s + to_s; ++edge) {
    point(edge->mid_s - origin_s);
    high = edge->rising;
    point(edge->mid_s - origin_s);
  }
  point(to_s);
}

}  // namespace

RecordView record_view(const Node& node) {
  if (node.logic) return logic_view(node);
  RecordView view;
  const std::size_t samples = node.samples.size();
  if (samples == 0) return view;
  const std::size_t a_column = (samples + kColumns - 1) / kColumns;
  view.start_s = node.samples.start_s;
  view.column_s = static_cast<double>(a_column) * node.samples.sample_interval_s;
  const std::size_t columns = (samples + a_column - 1) / a_column;
  view.min_v.resize(columns);
  view.max_v.resize(columns);
  in_parts(columns, 256, [&](std::size_t from, std::size_t to, std::size_t) {
    for (std::size_t column = from; column < to; ++column) {
      const std::size_t first = column * a_column;
      const auto [low, high] = extremes_of(node.samples.blocked(), first, std::min(first + a_column, samples));
      const double a = node.samples.scale * low + node.samples.offset, b = node.samples.scale * high + node.samples.offset;
      view.min_v[column] = static_cast<float>(std::min(a, b));
      view.max_v[column] = static_cast<float>(std::max(a, b));
    }
  });
  return view;
}

FoldedBits folded_bits(const Node& node, std::span<const BitPulse> pulses, const TimingWindows& windows,
                       double period_s) {
  FoldedBits folded;
  if (pulses.empty() || !(period_s > 0)) return folded;
  const double from_s = -0.2 * period_s, to_s = 1.2 * period_s;
  folded.span_s = to_s - from_s;
  for (const auto index : chosen(pulses, windows)) {
    FoldedBits::Trace trace;
    trace.one = pulses[index].one;
    if (node.logic)
      trace_logic(trace, node.transitions, pulses[index].start_s, from_s, to_s);
    else
      trace_samples(trace, node.samples, pulses[index].start_s, from_s, to_s);
    folded.traces.push_back(std::move(trace));
  }
  return folded;
}

}  // namespace pulsewright::analyzer
