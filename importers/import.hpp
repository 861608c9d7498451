#pragma once
// path or bytes -> Capture.

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "importers/capture.hpp"

namespace pulsewright::importers {

/// What the user knows better than the file.
struct ImportOptions {
  std::optional<double> sample_rate_hz = {};    ///< overrides what the file says (WAV headers often hold a placeholder)
  std::optional<double> full_scale_v = {};      ///< WAV: volts at full scale; without it a WAV channel is `counts`
  std::optional<double> volts_per_count = {};   ///< scale for ADC counts in a text file
  std::optional<std::size_t> record = {};       ///< which segment to take, counted from 1; default: the longest
  bool want_sha256 = true;                 ///< hashing a large file takes as long as reading it
  unsigned threads = 0;                    ///< 0: as many as the machine has
  std::size_t memory_limit_bytes = 0;      ///< 0: none; more than this asked for by a file is an ImportError
  std::function<void(double)> progress = {};    ///< called now and then with the fraction read; may be empty
};

/// Reads the file at `path`; "-" is standard input. Throws ImportError.
Capture import_file(const std::string& path, const ImportOptions& options = {});

/// Reads a file that is already in memory; `name` is used for messages only. Throws ImportError.
Capture import_bytes(std::string_view name, std::span<const std::byte> bytes, const ImportOptions& options = {});

}  // namespace pulsewright::importers
