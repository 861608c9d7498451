#pragma once
// The beginning of a text file: its lines, how they are cut into cells, and where the numbers start.

#include <cstdint>
#include <string_view>
#include <vector>

#include "importers/text/cell.hpp"

namespace pulsewright::importers::text {

struct HeadLine {
  std::size_t begin;     ///< offset in the text
  std::string_view raw;  ///< without its line end
  bool comment;          ///< starts with a comment mark, perhaps behind a separator
  std::vector<std::string_view> cells;
  std::vector<CellKind> kinds;  ///< only where `comment` is false
};

struct Head {
  Grid grid;
  std::vector<HeadLine> lines;
  bool whole_text = false;  ///< the lines are all of the text
  bool open_end = false;    ///< ... and the last one has no line end
  std::size_t key = 0;      ///< first column that holds a number in every row
  std::size_t run_begin = 0, run_end = 0;  ///< lines of the first stretch of rows; equal when there is none
};

/// Looks at the beginning of a text of `text_bytes`, at most 3000 lines.
Head read_head(std::string_view beginning, std::size_t text_bytes);

/// Comment lines start with '#', '%' or "//", or with ';' where that is no separator; ",#" counts too.
bool is_comment(std::string_view line, char delimiter);

/// The line without its comment mark.
std::string_view without_mark(std::string_view line);

}  // namespace pulsewright::importers::text
