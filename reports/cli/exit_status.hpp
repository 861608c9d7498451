#pragma once
// How the program ends. 64 and above as sysexits.h numbers them.

#include <stdexcept>

namespace pulsewright::cli {

enum ExitStatus : int {
  exit_pass = 0,
  exit_fail = 1,
  exit_marginal = 2,
  exit_cannot_tell = 3,
  exit_usage = 64,
  exit_unusable_data = 65,
  exit_no_input = 66,
  exit_internal = 70,
  exit_no_output = 73,
};

/// The command line is wrong; `what()` is one line that names the option.
class UsageError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// An output cannot be written; `what()` is one line that names the file.
class OutputError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

}  // namespace pulsewright::cli
