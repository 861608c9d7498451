// The words of the JSON contract for the enumerations of the result.

#include <string_view>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::analyzer {

std::string_view to_string(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return "pass";
    case Outcome::marginal: return "marginal";
    case Outcome::fail: return "fail";
    case Outcome::cannot_tell: break;
  }
  return "cannot-tell";
}

std::string_view to_string(Action action) {
  switch (action) {
    case Action::keep: return "keep";
    case Action::change_series_resistor: return "change-series-resistor";
    case Action::add_buffer: return "add-buffer";
    case Action::shift_level: return "shift-level";
    case Action::fix_ground: return "fix-ground";
    case Action::fix_source_timing: return "fix-source-timing";
    case Action::change_cable: return "change-cable";
    case Action::recapture: break;
  }
  return "recapture";
}

}  // namespace pulsewright::analyzer
