// Which channel is judged, and as what.

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <limits>
#include <string_view>

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/diagnose.hpp"
#include "analyzer/protocol/classify.hpp"

namespace pulsewright::analyzer {

namespace {

bool same_word(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](unsigned char x, unsigned char y) { return std::tolower(x) == std::tolower(y); });
}

std::size_t named_channel(const importers::Capture& capture, std::string_view wanted) {
  for (std::size_t i = 0; i < capture.channels.size(); ++i)
    if (same_word(capture.channels[i].name, wanted)) return i;
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(wanted.data(), wanted.data() + wanted.size(), number);
  if (error == std::errc() && end == wanted.data() + wanted.size() && number >= 1 && number <= capture.channels.size()) return number - 1;
  std::string names;
  for (const auto& channel : capture.channels) names += (names.empty() ? "\"" : ", \"") + channel.name + "\"";
  throw SettingsError("no channel \"" + std::string(wanted) + "\" in the capture; it has " + names);
}

std::vector<Transition> transitions_of(const importers::Capture& capture, const importers::Channel& channel) {
  if (channel.kind == importers::ChannelKind::logic) return transitions_of_logic(channel.changes);
  const auto view = view_of(capture, channel, 1, false);
  const auto states = measure_states(view);
  if (!states.two_states) return {};
  const double low = *states.levels.low_v, swing = *states.levels.amplitude_v;
  return find_transitions(view, states.levels, low + 0.3 * swing, low + 0.7 * swing, states.noise_rms_v.value.value_or(0),
                          states.adc_step_v.value.value_or(0));
}

bool contains(const Window& window, double width_s) {
  return !window.empty() && width_s >= window.min_s.value_or(0) && width_s <= window.max_s.value_or(std::numeric_limits<double>::infinity());
}

}  // namespace

ChannelLook look_at_channel(const importers::Capture& capture, const importers::Channel& channel) {
  const auto transitions = transitions_of(capture, channel);
  const bool active_low = idle_state(transitions, capture.start_s, capture.start_s + capture.span_s) == IdleState::high;
  const auto pulses = extract_pulses(transitions, active_low);
  const auto shape = width_shape(pulses);
  ChannelLook look{.two_states = !transitions.empty(), .transitions = transitions.size(), .pulses = shape.pulses, .period_s = shape.period_s,
                   .steady_ratio = shape.steady_ratio, .pixel_data = false, .windows = {}, .in_windows_ratio = 0,
                   .score = static_cast<double>(shape.pulses)};
  if (shape.two_classes) look.score *= 1e3;
  if (shape.pulses < 2) return look;
  const auto guess = infer_protocol(shape, active_low);
  look.pixel_data = guess.is_pixel_data;
  if (!look.pixel_data) return look;
  look.score *= 1e6;
  look.windows = guess.windows.id;
  const auto fit = [&](const BitPulse& pulse) {
    return contains(guess.windows.t0h, static_cast<double>(pulse.width_s)) || contains(guess.windows.t1h, static_cast<double>(pulse.width_s));
  };
  look.in_windows_ratio = static_cast<double>(std::count_if(pulses.begin(), pulses.end(), fit)) / static_cast<double>(pulses.size());
  return look;
}

std::size_t choose_channel(const importers::Capture& capture, const Settings& settings) {
  if (settings.channel) return named_channel(capture, *settings.channel);
  if (capture.channels.size() < 2) return 0;
  std::size_t best = 0;
  double best_score = -1;
  for (std::size_t i = 0; i < capture.channels.size(); ++i) {
    const double score = look_at_channel(capture, capture.channels[i]).score;
    if (score > best_score) best = i, best_score = score;
  }
  return best;
}

SampleView view_of(const importers::Capture& capture, const importers::Channel& channel, double multiply, bool mirrored) {
  SampleView view{.values = channel.values, .scale = multiply, .offset = 0, .sample_interval_s = capture.sample_interval_s, .start_s = capture.start_s};
  if (!mirrored) return view;
  const auto states = measure_states(view);
  const auto& levels = states.levels;
  const double low = states.two_states ? *levels.low_v : levels.peak_min_v.value.value_or(0);
  const double high = states.two_states ? *levels.high_v : levels.peak_max_v.value.value_or(0);
  const bool below_ground = high < 0.25 * (high - low);
  view.scale = -multiply;
  view.offset = below_ground ? 0 : low + high;
  return view;
}

CaptureFacts capture_facts(const importers::Capture& capture, const importers::Channel& channel, const States* states) {
  CaptureFacts facts;
  facts.file = capture.file_name;
  facts.sha256 = capture.sha256;
  facts.format = capture.format;
  facts.dialect = capture.dialect;
  facts.channel = channel.name;
  facts.unit = channel.unit;
  for (const auto& each : capture.channels) facts.channels.push_back(each.name);
  facts.samples = capture.samples;
  facts.sample_interval_s = capture.sample_interval_s;
  facts.sample_interval_u_s = capture.sample_interval_u_s;
  facts.sample_interval_rule = capture.sample_interval_rule;
  facts.start_s = capture.start_s;
  facts.span_s = capture.span_s;
  facts.logic = channel.kind == importers::ChannelKind::logic;
  facts.relative_levels = channel.kind == importers::ChannelKind::counts;
  facts.notes = capture.notes;
  if (facts.logic || !states) {
    facts.adc_step_v = facts.noise_rms_v = facts.samples_on_edge = Measured::none("a logic capture carries timing only");
    return facts;
  }
  facts.adc_step_v = states->adc_step_v;
  facts.noise_rms_v = states->noise_rms_v;
  facts.clipped_low = states->clipped_low;
  facts.clipped_high = states->clipped_high;
  facts.samples_on_edge = Measured::none("no transition measured");
  return facts;
}

}  // namespace pulsewright::analyzer
