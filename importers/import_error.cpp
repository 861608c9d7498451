#include "importers/import_error.hpp"

#include <utility>

namespace pulsewright::importers {

namespace {

std::string one_line(const std::string& file, const Place& place, const std::string& expected, const std::string& found) {
  std::string text = file;
  if (place.line) text += ":" + std::to_string(*place.line);
  if (place.byte) text += ", byte " + std::to_string(*place.byte);
  text += ": expected " + expected;
  if (place.column) text += " in column " + std::to_string(*place.column);
  return text + ", found " + found;
}

}  // namespace

ImportError::ImportError(Kind kind_, std::string file_, Place place_, std::string expected_, std::string found_)
    : std::runtime_error(one_line(file_, place_, expected_, found_)),
      kind(kind_),
      file(std::move(file_)),
      place(place_),
      expected(std::move(expected_)),
      found(std::move(found_)) {}

}  // namespace pulsewright::importers
