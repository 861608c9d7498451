#pragma once
// Is this capture fit to judge, and what would make it so?

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "analyzer/pulse/levels.hpp"
#include "analyzer/pulse/sample_view.hpp"
#include "analyzer/pulse/transition.hpp"
#include "importers/capture.hpp"

namespace pulsewright::analyzer {

/// How much a channel looks like the data line of pixel chips.
struct ChannelLook {
  bool two_states = false;
  std::size_t transitions = 0;
  std::size_t pulses = 0;
  double period_s = 0;          ///< median distance of leading edges; 0 with fewer than two pulses
  double steady_ratio = 0;      ///< share of these distances within a quarter of the median
  bool pixel_data = false;      ///< rate and widths of a known chip
  std::string windows;          ///< id of the timing windows that fit best; empty unless `pixel_data`
  double in_windows_ratio = 0;  ///< share of the pulses whose width lies in one of these windows
  double score = 0;             ///< the channel with the highest is taken
};

ChannelLook look_at_channel(const importers::Capture& capture, const importers::Channel& channel);

/// The channel that carries the data: the one named or numbered in the settings (case does not matter, numbers count
/// from 1), else the one with the most transitions of plausible width between two states. Throws SettingsError where
/// the settings name none of them.
std::size_t choose_channel(const importers::Capture& capture, const Settings& settings);

/// The samples of a channel as judged: --multiply applied; for `mirrored` turned over about the middle between its states,
/// or about 0 V where both states lie at or below 0 V (probe tip and ground exchanged).
SampleView view_of(const importers::Capture& capture, const importers::Channel& channel, double multiply, bool mirrored);

/// The facts of the file and the channel; step, noise and clipping come from `states` where the channel has voltages.
CaptureFacts capture_facts(const importers::Capture& capture, const importers::Channel& channel, const States* states);

enum class Severity {
  note,     ///< worth saying, takes nothing away
  limits,   ///< some figures are lost or softer
  prevents  ///< the signal cannot be judged from this capture
};

/// One thing that is wrong with the capture.
struct Flag {
  std::string id;          ///< cause id where one exists (design of the verdict): "undersampled", "clipped-capture", ...
  Severity severity = Severity::note;
  double confidence = 0;   ///< 0..1 that this is so
  std::string text;        ///< what is wrong, with the numbers
  std::string refuted_by;  ///< what would show that it is not so
  std::string advice;      ///< setting for a better capture, with the numbers
  std::map<std::string, Measured> evidence;
};

struct Fitness {
  std::vector<Flag> flags;         ///< worst first
  bool voltages = true;            ///< levels can be judged
  bool timing = true;              ///< widths can be judged
  bool edges = true;               ///< durations and aberrations can be judged
  const Flag* find(std::string_view id) const;
};

struct FitnessInput {
  const importers::Capture* capture = nullptr;
  const importers::Channel* channel = nullptr;
  SampleView samples;                            ///< empty for logic channels
  const States* states = nullptr;                ///< null for logic channels
  std::span<const Transition> transitions;
  const TransitionSummary* rising = nullptr;     ///< null for logic channels
  const TransitionSummary* falling = nullptr;
  const Settings* stated = nullptr;
  const SettingsUsed* used = nullptr;
};

/// All of it. Flags: flat-line, power-rail, inverted-capture, probe-factor, undersampled, bandwidth-limited,
/// clipped-capture, coarse-steps, noisy, ac-coupled, few-edges, edge-unresolved, relative-levels, logic-only.
Fitness judge_fitness(const FitnessInput& input);

}  // namespace pulsewright::analyzer
