#pragma once
// What a capture holds, without a verdict.

#include <cstddef>
#include <string>
#include <vector>

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/measured.hpp"
#include "analyzer/settings.hpp"
#include "importers/capture.hpp"

namespace pulsewright::analyzer {

struct ChannelRange {
  Measured lowest, highest;  ///< extremes of the values in the channel's unit; missing for logic
  std::size_t changes = 0;   ///< logic: changes of state
};

struct Inspection {
  std::vector<ChannelRange> ranges;  ///< one a channel of the capture
  std::vector<ChannelLook> looks;    ///< one a channel of the capture
  std::size_t channel = 0;           ///< which `diagnose` would take
  std::string channel_why;           ///< one clause
};

/// Throws SettingsError where the settings name no channel of the capture.
Inspection inspect(const importers::Capture& capture, const Settings& settings);

}  // namespace pulsewright::analyzer
