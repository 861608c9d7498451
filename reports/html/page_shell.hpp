#pragma once
// The frame of every page: head, content security policy, embedded style and script.

#include <string>
#include <string_view>

namespace pulsewright::reports::html {

struct Page {
  std::string title;      ///< plain text
  std::string body;       ///< markup
  std::string data_json;  ///< what the script works on; valid JSON or empty
};

/// A whole document. Only the embedded style and script may run: they are named by their SHA-256 in the policy, and nothing
/// is loaded. No markup of the body may carry style attributes or handlers.
std::string page(const Page& page);

/// Licence of the embedded plotting library, plain text.
std::string_view plot_licence();

/// "sha256-..." of a text, as a content security policy names it.
std::string policy_hash(std::string_view text);

}  // namespace pulsewright::reports::html
