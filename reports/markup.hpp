#pragma once
// Text that came from outside, made safe to stand inside HTML, SVG or a script's data.

#include <string>
#include <string_view>

namespace pulsewright::reports {

/// For element content and quoted attribute values of HTML and XML. Broken UTF-8, control characters and marks that change
/// the reading direction become U+FFFD; line feed and tab stay.
std::string escape(std::string_view text);

/// JSON as it may stand between <script type="application/json"> and </script>: no "<", ">", "&" or line separators
/// left bare. `json` must be valid JSON.
std::string json_in_script(std::string_view json);

}  // namespace pulsewright::reports
