// The step that answers each cause.

#include <utility>

#include "analyzer/verdict/causes.hpp"

namespace pulsewright::analyzer {

std::optional<Action> action_of(std::string_view cause_id) {
  constexpr std::pair<std::string_view, Action> kActions[] = {
      {"low-drive-level", Action::shift_level},
      {"ground-offset", Action::fix_ground},
      {"supply-sag", Action::fix_ground},
      {"source-timing", Action::fix_source_timing},
      {"latch-gap-short", Action::fix_source_timing},
      {"wrong-protocol", Action::fix_source_timing},
      {"bits-lost", Action::fix_source_timing},
      {"crosstalk-or-noise", Action::change_cable},
      {"probe-artefact", Action::recapture},
      {"probe-factor", Action::recapture},
      {"undersampled", Action::recapture},
      {"bandwidth-limited", Action::recapture},
      {"clipped-capture", Action::recapture},
      {"inverted-capture", Action::recapture},
      {"ac-coupled", Action::recapture},
      {"flat-line", Action::recapture},
      {"power-rail", Action::recapture},
      {"none", Action::keep},
  };
  for (const auto& [id, action] : kActions) {
    if (id == cause_id) return action;
  }
  return std::nullopt;
}

}  // namespace pulsewright::analyzer
