#pragma once
// Texts that look like tables but hold no waveform.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "importers/text/head.hpp"
#include "importers/text/header.hpp"

namespace pulsewright::importers::text {

/// What a text of `text_bytes` is when its beginning shows that it is no table at all: a pointer to a large file, a web page.
std::optional<std::string> other_text(std::string_view beginning, std::size_t text_bytes);

/// What the table is when its columns are no waveform: a list of prices, decoded bytes, one row a cycle.
std::optional<std::string> other_table(const Head& head, const Header& header, const std::vector<ColumnFacts>& columns);

}  // namespace pulsewright::importers::text
