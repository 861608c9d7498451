#pragma once
// A comparison to paste into a forum.

#include <string>
#include <string_view>

#include "analyzer/compare.hpp"
#include "reports/forum/forum_post.hpp"

namespace pulsewright::reports {

/// Result, captures, the six figures that matter, what else moved, bits, prediction; for a series its ranking. On the same
/// terms as forum_post(): labels are neither markup, link nor mention, never longer than `longest_forum_post`.
std::string comparison_post(const analyzer::Comparison& comparison, Markup markup, std::string_view command_line);

}  // namespace pulsewright::reports
