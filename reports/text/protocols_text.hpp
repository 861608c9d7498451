#pragma once
// The timing windows for a terminal.

#include <span>
#include <string>

#include "analyzer/protocol/windows.hpp"
#include "reports/text/layout.hpp"

namespace pulsewright::reports {

/// One line a chip edition.
std::string protocols_text(std::span<const analyzer::TimingWindows> windows, const TextStyle& style);

/// One edition with everything that is known of it, and what such chips were measured to accept.
std::string protocol_text(const analyzer::TimingWindows& windows, const TextStyle& style);

}  // namespace pulsewright::reports
