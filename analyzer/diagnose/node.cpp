#include "analyzer/diagnose/node.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "analyzer/pulse/aberration.hpp"
#include "analyzer/pulse/edge_response.hpp"
#include "analyzer/pulse/pulse.hpp"
#include "analyzer/pulse/sample_scan.hpp"
#include "importers/parallel.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr const char* kNoVoltages = "a logic capture holds no voltages";

std::vector<Transition> logic_transitions(const importers::Channel& channel, bool mirrored) {
  std::vector<Transition> transitions;
  for (std::size_t index = 1; index < channel.changes.size(); ++index) {
    const auto& change = channel.changes[index];
    if (change.high == channel.changes[index - 1].high) continue;
    Transition transition;
    transition.mid_s = change.time_s;
    transition.rising = change.high != mirrored;
    transitions.push_back(transition);
  }
  return transitions;
}

void set_missing(Levels& levels, const char* why) {
  for (Measured* level :
       {&levels.low_v, &levels.high_v, &levels.amplitude_v, &levels.high_drift_v, &levels.low_drift_v,
        &levels.high_plateau_min_v, &levels.high_plateau_max_v, &levels.low_plateau_max_v, &levels.low_rest_wander_v,
        &levels.peak_max_v, &levels.peak_min_v}) {
    *level = Measured::none(why);
  }
}

TransitionSummary logic_summary(std::span<const Transition> transitions, bool rising) {
  TransitionSummary summary;
  summary.count = static_cast<std::size_t>(std::count_if(
      transitions.begin(), transitions.end(), [&](const auto& transition) { return transition.rising == rising; }));
  for (Measured* figure : {&summary.duration_10_90_s, &summary.duration_20_80_s, &summary.duration_10_90_corrected_s,
                           &summary.slew_v_per_s, &summary.overshoot_ratio, &summary.undershoot_ratio,
                           &summary.preshoot_ratio, &summary.overshoot_max_ratio, &summary.settling_s}) {
    *figure = Measured::none("a logic capture does not show the shape of an edge");
  }
  return summary;
}

double or_zero(const Measured& measured) {
  return measured.value.value_or(0);
}

}  // namespace

Node open_node(const importers::Capture& capture, std::size_t channel, const Settings& settings) {
  Node node;
  node.capture = &capture;
  node.channel = &capture.channels.at(channel);
  node.logic = node.channel->kind == importers::ChannelKind::logic;
  node.relative = node.channel->kind == importers::ChannelKind::counts;
  if (node.logic) {
    set_missing(node.levels, kNoVoltages);
    node.states.noise_rms_v = node.states.adc_step_v = Measured::none(kNoVoltages);
    node.transitions = logic_transitions(*node.channel, settings.invert);
    return node;
  }
  node.samples = view_of(capture, *node.channel, settings.multiply.value_or(1), settings.invert);
  node.blocks = block_extremes(node.samples.values);
  node.samples.blocks = node.blocks;
  node.states = measure_states(node.samples, Accuracy::of(settings));
  node.levels = node.states.levels;
  return node;
}

void find_edges(Node& node, double vil_v, double vih_v) {
  if (node.logic || !node.states.two_states) return;
  const bool scaled = node.relative && node.levels.low_v && node.levels.amplitude_v;
  node.vil_v = scaled ? *node.levels.low_v + 0.3 * *node.levels.amplitude_v : vil_v;
  node.vih_v = scaled ? *node.levels.low_v + 0.7 * *node.levels.amplitude_v : vih_v;
  node.transitions = find_transitions(node.samples, node.states.levels, node.vil_v, node.vih_v,
                                      or_zero(node.states.noise_rms_v), or_zero(node.states.adc_step_v));
}

void measure_edges(Node& node, const Settings& settings) {
  const Accuracy accuracy = Accuracy::of(settings);
  if (node.logic) {
    node.rising = logic_summary(node.transitions, true);
    node.falling = logic_summary(node.transitions, false);
    node.interval = {logic_width_uncertainty(node.capture->sample_interval_s, accuracy.timebase_ratio_u),
                     node.capture->sample_interval_s};
    return;
  }
  const TransitionContext context{.samples = node.samples,
                                  .states = &node.states,
                                  .accuracy = accuracy,
                                  .vil_v = node.vil_v,
                                  .vih_v = node.vih_v,
                                  .bandwidth_hz = settings.bandwidth_hz};
  Levels with_plateaus = node.levels;
  importers::for_each_index(3, 2, [&](std::size_t part) {
    if (part == 0) measure_plateaus(node.samples, node.transitions, node.states, with_plateaus, accuracy);
    else if (part == 1) node.rising = summarize_transitions(context, node.transitions, node.levels, true);
    else node.falling = summarize_transitions(context, node.transitions, node.levels, false);
  });
  node.levels = std::move(with_plateaus);
  node.interval = {width_uncertainty(node.states, accuracy, node.samples.sample_interval_s, or_zero(node.rising.duration_10_90_s),
                                     or_zero(node.falling.duration_10_90_s)),
                   0};
}

}  // namespace pulsewright::analyzer
