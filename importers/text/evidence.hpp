#pragma once
// What the roles of the columns are chosen from.

#include <string>
#include <string_view>
#include <vector>

#include "importers/import.hpp"
#include "importers/text/columns.hpp"
#include "importers/text/header.hpp"
#include "importers/text/layout.hpp"

namespace pulsewright::importers::text {

/// Everything that the choice of roles looks at.
struct Evidence {
  const std::string& file;
  const Head& head;
  const std::vector<ColumnFacts>& facts;
  const Header& header;
  const ImportOptions& options;
  const LayoutHints& hints;
  std::string_view last_row;

  const ColumnTitle& title(std::size_t c) const { return header.titles[c]; }
  bool has_unit(std::size_t c, Quantity quantity) const { return title(c).unit && title(c).unit->quantity == quantity; }
  bool has_titles() const { return header.names_line || header.units_line; }
  std::size_t line(std::size_t head_line) const { return head_line + 1; }
};

/// Throws ImportError at the first row.
[[noreturn]] void refuse(const Evidence& e, const std::string& expected, const std::string& found);

/// Throws ImportError at a cell of the first row.
[[noreturn]] void refuse_column(const Evidence& e, std::size_t c, const std::string& expected, std::string_view found);

/// Cells up to the first empty one that most of the first rows have, or that have a name.
std::size_t usual_row_cells(const Evidence& e);

/// Throws ImportError where separators, decimal marks and signs can be read in two ways.
void refuse_ambiguity(const Evidence& e);

}  // namespace pulsewright::importers::text
