#include "tests/fuzz/checks.hpp"

#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "importers/import_error.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::fuzz {

namespace {

void require_evenly_sampled(const importers::Capture& capture, const importers::Channel& channel) {
  require(channel.values.size() == capture.samples, "a sampled channel holds as many values as the capture says");
  require(channel.changes.empty(), "a sampled channel holds no changes");
  for (const float value : channel.values) require(std::isfinite(value), "every sample is finite");
}

void require_changes(const importers::Channel& channel) {
  require(!channel.changes.empty(), "a logic channel has a state at the start");
  require(channel.values.empty(), "a logic channel holds no samples");
  for (std::size_t i = 0; i < channel.changes.size(); ++i) {
    require(std::isfinite(channel.changes[i].time_s), "the time of a change is finite");
    if (i == 0) continue;
    require(channel.changes[i].time_s >= channel.changes[i - 1].time_s, "changes stand in their order");
    require(channel.changes[i].high != channel.changes[i - 1].high, "each change is one");
  }
}

}  // namespace

void require(bool kept, std::string_view promise) {
  if (kept) return;
  std::fprintf(stderr, "broken promise: %.*s\n", static_cast<int>(promise.size()), promise.data());
  std::abort();
}

void require_one_line(std::string_view message) {
  require(!message.empty() && message.size() <= 1000, "a message is short and not empty");
  require(reports::one_line(message) == message, "a message is one printable line");
}

void require_sound(const importers::Capture& capture) {
  require(!capture.channels.empty(), "a capture has a channel");
  require(capture.sample_interval_s > 0 && std::isfinite(capture.sample_interval_s), "the sample interval is above zero and finite");
  require(capture.sample_interval_u_s >= 0 && std::isfinite(capture.sample_interval_u_s), "the interval's uncertainty is finite");
  require(!capture.sample_interval_rule.empty(), "the rule of the interval is named");
  require(std::isfinite(capture.start_s) && std::isfinite(capture.span_s) && capture.span_s >= 0, "start and span are finite");
  require(capture.samples > 0, "a capture has samples");
  require(capture.record >= 1 && capture.record <= capture.records, "the record is one of those that there are");
  for (const auto& channel : capture.channels)
    channel.kind == importers::ChannelKind::logic ? require_changes(channel) : require_evenly_sampled(capture, channel);
}

void require_same(const importers::Capture& a, const importers::Capture& b) {
  require(a.samples == b.samples && a.channels.size() == b.channels.size(), "the same samples and channels");
  require(a.sample_interval_s == b.sample_interval_s && a.start_s == b.start_s, "the same time base");
  for (std::size_t c = 0; c < a.channels.size(); ++c) {
    require(a.channels[c].values == b.channels[c].values, "the same values");
    require(a.channels[c].changes.size() == b.channels[c].changes.size(), "the same changes");
  }
}

void read_as(const importers::Format& format, std::string_view bytes) {
  importers::ImportOptions options;
  options.threads = 1;
  options.want_sha256 = false;
  options.memory_limit_bytes = std::size_t{64} << 20;
  if (bytes.empty() || !format.recognises(bytes)) return;
  try {
    require_sound(importers::import_bytes("capture", std::as_bytes(std::span(bytes)), options));
  } catch (const importers::ImportError& error) {
    require_one_line(error.what());
  }
}

}  // namespace pulsewright::fuzz
