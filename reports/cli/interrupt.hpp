#pragma once

namespace pulsewright::cli {

/// While it lives, Ctrl-C (SIGINT) and SIGTERM are remembered instead of ending the program; the second one ends it.
class Interrupt {
 public:
  Interrupt();
  ~Interrupt();
  Interrupt(const Interrupt&) = delete;
  Interrupt& operator=(const Interrupt&) = delete;

  bool asked() const;
};

}  // namespace pulsewright::cli
