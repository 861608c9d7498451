#pragma once
// Names, units and metadata around the samples.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "importers/text/columns.hpp"
#include "importers/text/head.hpp"
#include "importers/text/unit.hpp"

namespace pulsewright::importers::text {

struct Given {
  double value;       ///< SI
  double last_digit;  ///< one unit of the last printed digit, SI; 0 when fewer than four digits are printed
  std::string key;    ///< as the file writes it
  bool without_unit = false;
};

struct Metadata {
  std::optional<Given> interval_s, rate_hz, start_s, volts_per_count, volts_per_division;
  std::optional<std::uint64_t> announced;
  std::vector<Unit> value_units;  ///< of quantity `index` where the word is no unit
  std::string time_unit;  ///< other than seconds, stated for no number in particular
  std::string conflict;   ///< what the header says about the sample interval that does not fit what it says elsewhere
  std::vector<std::string> not_understood;  ///< keys with what stands there instead of a number
};

struct ColumnTitle {
  std::string name;
  std::optional<Unit> unit;
  std::string unknown_unit;  ///< what stands in the place of a unit and is none
  std::size_t unit_line = 0;  ///< of the head: where the unit stands, or should
};

struct Header {
  Metadata metadata;
  std::vector<ColumnTitle> titles;  ///< one for each sample column; empty where the file has none
  std::size_t titles_begin = 0;  ///< first line of names or units
  std::size_t named = 0;  ///< columns of the line that the names line gives a name one after the other, without those of the metadata
  bool names_line = false, units_line = false, unit_in_names = false;
  bool metadata_above = false, metadata_left = false, metadata_right = false, comments = false;
};

Header read_header(const Head& head, const std::vector<ColumnFacts>& columns);

/// "time", "axis", "t", "second", ...: the name of a time column.
bool names_time(std::string_view name);

/// "index", "sample", "n", ...: the name of a column that counts rows.
bool names_index(std::string_view name);

}  // namespace pulsewright::importers::text
