#pragma once
// Text from captures and command lines, made safe for one line of a terminal or a post.

#include <cstddef>
#include <string>
#include <string_view>

namespace pulsewright::reports {

/// One line of valid UTF-8: line breaks and tabs become spaces; control characters (C0, C1, escape sequences included),
/// marks that change the reading direction, invisible format characters and broken bytes become U+FFFD.
std::string one_line(std::string_view text);

/// The same, cut after `longest` columns; "…" stands for what was left out.
std::string one_line(std::string_view text, std::size_t longest);

/// Columns that the text takes on a terminal; `text` must be valid UTF-8 without control characters. Combining marks
/// count 0, East Asian wide characters and emoji 2 (by block, not by character).
std::size_t columns(std::string_view text);

/// The name of a file without its folders: what others may see.
std::string_view file_alone(std::string_view path);

/// As a word of a POSIX shell's command line: bare where nothing needs quoting, else in single quotes.
std::string shell_word(std::string_view text);

}  // namespace pulsewright::reports
