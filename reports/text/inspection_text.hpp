#pragma once
// What was understood of a file, for a terminal.

#include <string>
#include <string_view>

#include "analyzer/inspect.hpp"
#include "importers/capture.hpp"
#include "reports/text/layout.hpp"

namespace pulsewright::reports {

/// `command_line` is that of the inspection; the line to diagnose with is made of it.
std::string inspection_text(const importers::Capture& capture, const analyzer::Inspection& inspection,
                            std::string_view command_line, const TextStyle& style);

}  // namespace pulsewright::reports
