#pragma once
// What kind of terminal there is, if any.

#include "reports/text/layout.hpp"

namespace pulsewright::cli {

/// Width from COLUMNS, else from the terminal, else 80; never above 110, so that lines stay readable. Colour only on a
/// terminal that is not "dumb", and not where NO_COLOR is set to anything.
reports::TextStyle style_of_standard_output();

bool standard_output_is_terminal();
bool standard_error_is_terminal();

}  // namespace pulsewright::cli
