#pragma once

#include <string>
#include <vector>

namespace pulsewright::cli {

/// The whole program: `words` are those behind its name. Prints at most one line on standard error for what goes wrong,
/// and returns the exit status.
int run(const std::vector<std::string>& words);

}  // namespace pulsewright::cli
