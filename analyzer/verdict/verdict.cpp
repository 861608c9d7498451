#include "analyzer/verdict/verdict.hpp"

#include <algorithm>
#include <string>

#include "analyzer/verdict/causes.hpp"
#include "analyzer/verdict/decision.hpp"

namespace pulsewright::analyzer {

namespace {

bool prevented(const Fitness& fitness) {
  return std::any_of(fitness.flags.begin(), fitness.flags.end(),
                     [](const Flag& flag) { return flag.severity == Severity::prevents; });
}

bool unanswered(const Diagnosis& diagnosis, const char* id) {
  const Check* check = find_check(diagnosis.checks, id);
  return check == nullptr || check->result == Outcome::cannot_tell;
}

// A pass needs to have seen these. Pauses and whole frames may lie outside a short record: the headline says so.
bool pass_is_covered(const Diagnosis& diagnosis) {
  for (const char* id : {"high-level", "low-level", "overshoot", "undershoot", "recrossing"}) {
    if (unanswered(diagnosis, id)) return false;
  }
  const auto class_open = [&](const char* id, const PulseClass& of) {
    return of.count > 0 && unanswered(diagnosis, id);
  };
  if (class_open("t0h", diagnosis.pulses.zero) || class_open("t1h", diagnosis.pulses.one)) return false;
  return diagnosis.pulses.zero.count + diagnosis.pulses.one.count > 0;
}

Cause nothing_wrong(const Diagnosis& diagnosis) {
  Cause cause;
  cause.id = "none";
  const bool pass = diagnosis.verdict.result == Outcome::pass;
  cause.confidence = pass ? 0.9 : 0.4;
  cause.text = pass ? "Nothing in this capture explains a fault." : "Nothing wrong in what this capture can show.";
  cause.refuted_by = "a capture of a moment when the display misbehaves";
  cause.action = "Leave the line as it is; if the display still misbehaves, capture a longer record while it does.";
  return cause;
}

// Every check that decides has a cause of its own for the case that no rule found a better one.
std::string_view usual_cause(std::string_view check_id) {
  if (check_id == "high-level") return "low-drive-level";
  if (check_id == "low-level") return "ground-offset";
  if (check_id == "overshoot" || check_id == "undershoot") return "underdamped-source";
  if (check_id == "t0h" || check_id == "t1h") return "source-timing";
  if (check_id == "speed") return "wrong-protocol";
  if (check_id == "latch-gap") return "latch-gap-short";
  if (check_id == "whole-pixels") return "bits-lost";
  return "crosstalk-or-noise";
}

constexpr double kUsualConfidence = 0.35;  ///< of the cause that a check usually has, where no figure says why

void add_usual_cause(Diagnosis& diagnosis) {
  for (const Outcome worst : {Outcome::fail, Outcome::marginal}) {
    for (const auto& check : diagnosis.checks) {
      if (check.advisory || check.result != worst) continue;
      Cause cause;
      cause.id = usual_cause(check.id);
      cause.confidence = kUsualConfidence;
      cause.text = "Not met: " + check.name + ". No other figure says why.";
      cause.evidence["value"] = check.value;
      cause.refuted_by = "a repeated capture in which this check passes";
      cause.action = "Capture again at the pixel's data input and at the controller's output (--near).";
      diagnosis.verdict.causes.push_back(std::move(cause));
      return;
    }
  }
}

std::string unseen(const Diagnosis& diagnosis) {
  const bool gap = unanswered(diagnosis, "latch-gap"), frames = unanswered(diagnosis, "whole-pixels");
  if (gap && frames) return " Whole frames and the pause between them are outside this record.";
  if (gap) return " The pause between frames is outside this record.";
  return {};
}

std::string headline(const Diagnosis& diagnosis) {
  const auto& verdict = diagnosis.verdict;
  const Cause& top = verdict.causes.front();
  switch (verdict.result) {
    case Outcome::pass:
      return "The signal is sound at this point of the line: levels, edges and bit times suit " +
             diagnosis.settings.windows.chip + "." + unseen(diagnosis);
    case Outcome::fail: return top.text;
    case Outcome::marginal: return "On the edge: " + top.text;
    case Outcome::cannot_tell: break;
  }
  if (diagnosis.capture.logic && top.id == "none") {
    return "The bits and their times are right. Whether the voltages are, a logic capture cannot show: capture the "
           "line with an oscilloscope.";
  }
  if (diagnosis.settings.at == ProbePosition::near && top.id == "none") {
    return "At the controller's end nothing is wrong. What arrives at the pixel only a capture at its data input can "
           "show.";
  }
  if (diagnosis.settings.at == ProbePosition::near && top.id == "overdamped-source") return top.text + " Only a capture at the pixel proves it.";
  return "This capture cannot tell. " + top.text;
}

bool without_limits(const Window& window) {
  return !window.min_s && !window.max_s;
}

// What the capture itself cannot give, whatever its settings.
std::string missing_piece(const Diagnosis& diagnosis) {
  if (diagnosis.capture.logic) {
    return "Capture the line with an oscilloscope of 100 MHz or more at the pixel's data input: a logic capture shows "
           "no voltages.";
  }
  if (diagnosis.capture.relative_levels)
    return "State the scale of the file (--full-scale or --volts-per-count), or export volts.";
  if (diagnosis.settings.at == ProbePosition::near) {
    return "Capture at the data input of the first pixel, with the probe's ground at that pixel.";
  }
  const auto& windows = diagnosis.settings.windows;
  if (without_limits(windows.t0h) && without_limits(windows.t1h)) {
    return "For " + windows.chip + " only nominal times are known: give limits of your own with --windows.";
  }
  return {};
}

std::vector<std::string> advice(const Diagnosis& diagnosis, const Fitness& fitness) {
  std::vector<std::string> lines;
  for (const auto& flag : fitness.flags) {
    if (flag.severity != Severity::note && !flag.advice.empty()) lines.push_back(flag.advice);
  }
  for (const auto& cause : diagnosis.verdict.causes) {
    if (cause.id == "probe-artefact" || cause.id == "wrong-protocol") lines.push_back(cause.action);
  }
  if (auto piece = missing_piece(diagnosis); !piece.empty()) lines.push_back(std::move(piece));
  if (diagnosis.verdict.result == Outcome::cannot_tell && lines.empty()) {
    lines.push_back(
        "Capture again at the pixel's data input: 5 ns a sample or less, 1 V a division, and a whole frame with the "
        "pause "
        "before and after it.");
  }
  return lines;
}

}  // namespace

Outcome overall(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness) {
  if (prevented(fitness) || !seen.is_pixel_data) return Outcome::cannot_tell;
  if (seen.garbled && diagnosis.capture.logic) return Outcome::cannot_tell;
  Outcome worst = Outcome::pass;
  for (const auto& check : diagnosis.checks) {
    if (!check.advisory && check.result != Outcome::cannot_tell) worst = worse(worst, check.result);
    // No data sheet forbids it, but what has moved the ground by this much eats the margin that is left.
    if (check.id == "ground-offset" && check.result == Outcome::fail) worst = worse(worst, Outcome::marginal);
  }
  const bool at_the_pixel = diagnosis.settings.at == ProbePosition::far;
  if (worst == Outcome::pass && (!at_the_pixel || !pass_is_covered(diagnosis))) return Outcome::cannot_tell;
  return worst;
}

void conclude(Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness) {
  auto& verdict = diagnosis.verdict;
  verdict.result = overall(diagnosis, seen, fitness);
  verdict.causes.clear();
  if (verdict.result != Outcome::pass) verdict.causes = find_causes(diagnosis, seen, fitness);
  if (verdict.causes.empty() && (verdict.result == Outcome::fail || verdict.result == Outcome::marginal))
    add_usual_cause(diagnosis);
  if (verdict.causes.empty()) verdict.causes.push_back(nothing_wrong(diagnosis));
  verdict.headline = headline(diagnosis);
  verdict.recapture_advice = advice(diagnosis, fitness);
}

void align_suggestion(Diagnosis& diagnosis) {
  auto& suggestion = diagnosis.suggestion;
  const Cause& top = diagnosis.verdict.causes.front();
  auto action = action_of(top.id);
  const bool open = top.id == "none" || top.id == "source-timing";
  if (open && diagnosis.verdict.result == Outcome::cannot_tell) action = Action::recapture;
  if (!action) {
    // Too much or too little resistance: the line model has the say, but neither "keep" nor "recapture" answers a
    // fault whose cause is seen. One whose cause is only the usual one calls for another look, not for a part.
    const bool answered = suggestion.action == Action::change_series_resistor ||
                          suggestion.action == Action::add_buffer || suggestion.action == Action::change_cable;
    if (answered) return;
    action = top.confidence <= kUsualConfidence ? Action::recapture : Action::change_series_resistor;
  }
  if (*action == suggestion.action) return;
  suggestion.action = *action;
  suggestion.confidence = top.confidence;
  suggestion.text = top.action;
}

}  // namespace pulsewright::analyzer
