#pragma once

#include "analyzer/diagnosis.hpp"
#include "analyzer/settings.hpp"
#include "importers/capture.hpp"

#include <stdexcept>

namespace pulsewright::analyzer {

/// Thrown when the settings contradict the capture or each other (unknown protocol, no such channel, ...).
class SettingsError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// The whole way from samples to verdict. Never throws for what a capture shows: what cannot be judged is in the
/// result as "cannot tell". `near` is the same run captured at the controller end, or null.
Diagnosis diagnose(const importers::Capture& capture, const Settings& settings, const importers::Capture* near = nullptr);

}  // namespace pulsewright::analyzer
