#pragma once
// Two extremes an instant, as neighbouring columns or as two rows with the same time.

#include "importers/text/layout.hpp"

namespace pulsewright::importers::text {

/// Marks the second column of a pair, or sets two rows a sample. Throws ImportError where pairs of rows stop within the first ones.
void join_envelopes(const std::string& file, const Head& head, Layout& layout);

}  // namespace pulsewright::importers::text
