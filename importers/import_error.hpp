#pragma once
// The file is wrong: one line that says where, what belongs there and what was found.

#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>

namespace pulsewright::importers {

/// Where in the file: a line and perhaps a column of a text, or a byte of a binary file.
struct Place {
  std::optional<std::uint64_t> line;    ///< counted from 1
  std::optional<std::uint64_t> column;  ///< field, counted from 1
  std::optional<std::uint64_t> byte;    ///< offset, counted from 0
};

/// Thrown when a file cannot be used. `what()` is the whole line without a newline, with text from the file
/// shortened and made printable:
///   night-run.csv:14: expected a voltage in column 2, found "OVERLOAD"
class ImportError : public std::runtime_error {
 public:
  enum class Kind { no_such_input, unusable_data };

  ImportError(Kind kind, std::string file, Place place, std::string expected, std::string found);

  Kind kind;
  std::string file;
  Place place;
  std::string expected;
  std::string found;
};

}  // namespace pulsewright::importers
