#pragma once
// A verdict to paste into a forum: set-up, verdict, the six figures that matter, suggestion, what was asked.

#include <cstddef>
#include <string>
#include <string_view>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports {

enum class Markup { markdown, bbcode };

inline constexpr std::size_t longest_forum_post = 10000;  ///< characters; common practice, no source

/// `command_line` is what was asked. Folders of the capture stay private. Text from captures and command lines is neither markup, link nor mention.
/// Never longer than `longest_forum_post`.
std::string forum_post(const analyzer::Diagnosis& diagnosis, Markup markup, std::string_view command_line);

/// Any text as plain words of the markup, on one line of at most `longest` columns.
std::string forum_words(std::string_view text, Markup markup, std::size_t longest = 400);

}  // namespace pulsewright::reports
