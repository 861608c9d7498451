#pragma once
// One function a command. Each returns the exit status and throws what run() turns into one line.

#include "reports/cli/arguments.hpp"

namespace pulsewright::cli {

int diagnose(const Arguments& arguments);
int diagnose_many(const Arguments& arguments);  ///< several captures or a folder
int watch(const Arguments& arguments);          ///< each capture saved into a folder, until interrupted
int compare(const Arguments& arguments);
int inspect(const Arguments& arguments);
int protocols(const Arguments& arguments);

/// Own timing windows of --windows; empty without it.
std::vector<analyzer::TimingWindows> own_windows(const std::string& file);

}  // namespace pulsewright::cli
