#pragma once
// Rows and layout -> the capture of one record.

#include <functional>
#include <string>

#include "importers/text/rows.hpp"

namespace pulsewright::importers::text {

/// The times are no even grid although every channel has two values: read again as a change list.
struct UnevenTimes {};

/// Throws ImportError, or UnevenTimes when `may_be_changes()`, which is asked of uneven times only.
Capture assemble(const std::string& file, const Content& text, const Layout& layout, Rows&& rows, const ImportOptions& options,
                 const std::function<bool()>& may_be_changes);

}  // namespace pulsewright::importers::text
