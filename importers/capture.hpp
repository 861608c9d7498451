#pragma once
// What every importer hands over: the samples of one record and how they were understood.

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace pulsewright::importers {

/// Allocator that leaves new numbers uninitialised, so that reading a file touches its memory once.
template <class T>
struct UninitialisedAllocator : std::allocator<T> {
  template <class U>
  struct rebind {
    using other = UninitialisedAllocator<U>;
  };
  template <class U, class... Arguments>
  void construct(U* place, Arguments&&... arguments) {
    if constexpr (sizeof...(Arguments) == 0) {
      ::new (static_cast<void*>(place)) U;
    } else {
      ::new (static_cast<void*>(place)) U(std::forward<Arguments>(arguments)...);
    }
  }
};

/// One value a sample, in the unit of the channel.
using Samples = std::vector<float, UninitialisedAllocator<float>>;

enum class ChannelKind {
  analog,  ///< values in a unit, normally volts
  counts,  ///< ADC codes or fractions of full scale without a known scale: levels are relative only
  logic,   ///< two states and the instants at which they change
};

/// The level of a logic line from this instant on.
struct LogicChange {
  double time_s;
  bool high;
};

struct Channel {
  std::string name;  ///< as the file gives it (untrusted text), else "channel 1", "channel 2", ...
  std::string unit;  ///< "V", "count", "full scale", or "" where the file does not say
  ChannelKind kind = ChannelKind::analog;
  Samples values;  ///< analog and counts: `Capture::samples` values, evenly spaced; NaN never occurs
  /// logic: the first entry is the state at the start of the record, each later one a change of state.
  std::vector<LogicChange> changes;
};

/// One record of one or more channels on a common time base.
struct Capture {
  std::string file_name;  ///< as given by the user (untrusted text)
  std::string sha256;     ///< of the file's bytes, lower-case hexadecimal; empty when it was not asked for
  std::string format;     ///< "text", "wav", "vcd"
  std::string dialect;    ///< plain words, e.g. "comma-separated, time column, names and units lines"

  double sample_interval_s = 0;       ///< logic change lists: the grid of the time stamps (their resolution)
  double sample_interval_u_s = 0;     ///< standard uncertainty of the interval as read from the file
  std::string sample_interval_rule;   ///< plain words, e.g. "time column, (last - first) / (n - 1)"
  double start_s = 0;                 ///< time of the first sample (or first logic entry) on the file's time axis
  double span_s = 0;                  ///< time from the first to the last sample, or to the end of a change list
  std::size_t samples = 0;            ///< samples a channel; for a change list, its rows
  std::optional<std::uint64_t> samples_announced;  ///< what the header said, where it said so

  std::size_t record = 1;   ///< which record of the file this is, counted from 1
  std::size_t records = 1;  ///< how many the file holds (segments, or stretches between gaps)

  std::vector<Channel> channels;  ///< at least one
  std::vector<std::string> notes;  ///< what was assumed, dropped or cut; stands on every report
};

}  // namespace pulsewright::importers
