#pragma once
// Text from a file, fit to stand in a message.

#include <string>
#include <string_view>

namespace pulsewright::importers {

/// At most `longest` bytes of `text` in double quotes; control characters and bytes outside ASCII become '?',
/// and "..." marks what was left out.
std::string quoted(std::string_view text, std::size_t longest = 40);

/// The same without quotes, for names that go into notes.
std::string printable(std::string_view text, std::size_t longest = 60);

/// The first bytes as two hexadecimal digits each.
std::string first_bytes(std::string_view bytes, std::size_t count = 8);

}  // namespace pulsewright::importers
