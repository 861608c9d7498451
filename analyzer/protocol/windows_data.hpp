#pragma once
// The printed figures in the units of the sheets; `windows.cpp` turns them into SI.

#include <span>

#include "analyzer/protocol/windows.hpp"

namespace pulsewright::analyzer {

struct PrintedTime {
  double min_ns, nominal_ns, max_ns;  ///< NaN: not printed
};

struct PrintedLevels {
  double vih, vil;
  InputLevels::Basis basis;
};

struct PrintedWindows {
  const char* id;
  const char* chip;
  const char* edition;
  PrintedTime t0h, t1h, t0l, t1l;
  double period_ns, period_tolerance_ns, latch_us;
  unsigned bits_per_pixel;
  bool inverted;
  PrintedLevels levels;
  bool seen;
  const char* source;
};

struct MeasuredRow {
  const char* chip;
  double zero_max_ns, one_min_ns, shortest_period_ns, latch_us;
  const char* source;
};

std::span<const PrintedWindows> printed_windows();
std::span<const MeasuredRow> measured_rows();

}  // namespace pulsewright::analyzer
