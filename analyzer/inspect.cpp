#include "analyzer/inspect.hpp"

#include <algorithm>

namespace pulsewright::analyzer {

namespace {

ChannelRange range_of(const importers::Channel& channel) {
  ChannelRange range;
  if (channel.kind == importers::ChannelKind::logic) {
    range.lowest = range.highest = Measured::none("logic levels");
    range.changes = channel.changes.empty() ? 0 : channel.changes.size() - 1;
    return range;
  }
  if (channel.values.empty()) {
    range.lowest = range.highest = Measured::none("no samples");
    return range;
  }
  const auto [low, high] = std::minmax_element(channel.values.begin(), channel.values.end());
  range.lowest = Measured::of(static_cast<double>(*low));
  range.highest = Measured::of(static_cast<double>(*high));
  return range;
}

}  // namespace

Inspection inspect(const importers::Capture& capture, const Settings& settings) {
  Inspection made;
  made.channel = choose_channel(capture, settings);
  if (settings.channel)
    made.channel_why = "as asked for";
  else if (capture.channels.size() == 1)
    made.channel_why = "the only one";
  else
    made.channel_why = "of all channels it looks most like pulse-width-coded data";
  for (const auto& channel : capture.channels) {
    made.ranges.push_back(range_of(channel));
    made.looks.push_back(look_at_channel(capture, channel));
  }
  return made;
}

}  // namespace pulsewright::analyzer
