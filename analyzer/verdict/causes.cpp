#include "analyzer/verdict/causes.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "analyzer/verdict/decision.hpp"
#include "analyzer/verdict/phrases.hpp"
#include "analyzer/verdict/symptoms.hpp"
#include "analyzer/verdict/width_check.hpp"

namespace pulsewright::analyzer {

namespace {

using namespace phrases;

// A logic capture with pulses cut short or joined cannot tell what made them.
constexpr double kByLineToo = 0.4;
constexpr const char* kCutOrJoined = " A line that rings or fills up in steps cuts right pulses into such pieces, or joins them, too.";

double value_or(const Measured& measured, double otherwise) {
  return measured.value.value_or(otherwise);
}

class Investigation {
 public:
  Investigation(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness)
      : d_(diagnosis), seen_(seen), fitness_(fitness), symptoms_(symptoms_of(diagnosis, seen, fitness)) {}

  std::vector<Cause> all() {
    add_capture_flags();
    if (!fitness_prevents()) {
      add_wrong_protocol();
      if (seen_.is_pixel_data) add_signal_causes();
    }
    std::stable_sort(causes_.begin(), causes_.end(),
                     [](const Cause& a, const Cause& b) { return a.confidence > b.confidence; });
    return std::move(causes_);
  }

 private:
  bool at_controller() const { return d_.settings.at == ProbePosition::near; }

  Outcome result(const char* id) const {
    const Check* check = find_check(d_.checks, id);
    return check == nullptr ? Outcome::cannot_tell : check->result;
  }
  bool failing(const char* id) const { return result(id) == Outcome::fail || result(id) == Outcome::marginal; }
  bool fails(const char* id) const { return result(id) == Outcome::fail; }
  bool found(std::string_view id) const {
    return std::any_of(causes_.begin(), causes_.end(), [&](const Cause& cause) { return cause.id == id; });
  }
  bool fitness_prevents() const {
    return std::any_of(fitness_.flags.begin(), fitness_.flags.end(),
                       [](const Flag& flag) { return flag.severity == Severity::prevents; });
  }

  Cause& add(std::string id, double confidence, std::string text) {
    Cause cause;
    cause.id = std::move(id);
    cause.confidence = std::clamp(confidence, 0.05, 0.98);
    cause.text = std::move(text);
    causes_.push_back(std::move(cause));
    return causes_.back();
  }

  // Flags of the capture that bear the id of a cause.
  void add_capture_flags() {
    constexpr std::string_view kCauses[] = {"flat-line",    "power-rail",        "inverted-capture", "probe-factor",
                                            "undersampled", "bandwidth-limited", "clipped-capture",  "ac-coupled"};
    for (const auto& flag : fitness_.flags) {
      if (std::find(std::begin(kCauses), std::end(kCauses), flag.id) == std::end(kCauses) ||
          flag.severity == Severity::note)
        continue;
      Cause& cause = add(flag.id, flag.confidence * (flag.severity == Severity::limits ? 0.5 : 1), flag.text);
      cause.evidence = flag.evidence;
      cause.refuted_by = flag.refuted_by;
      cause.action = flag.advice;
    }
  }

  void add_wrong_protocol() {
    if (!seen_.is_pixel_data) {
      Cause& cause =
          add("wrong-protocol", seen_.garbled ? kByLineToo : 0.85,
              "This does not look like data for pixel chips: " + seen_.protocol_why + "." + (seen_.garbled ? kCutOrJoined : ""));
      describe_pulses(cause);
      cause.refuted_by = "a chip whose data sheet shows such pulses: give its times with --windows";
      cause.action = "Check that the probe sat on the data line of the pixels, then state the chip with --protocol.";
      return;
    }
    const auto& windows = d_.settings.windows;
    const bool speed_off =
        windows.period_s && seen_.shape.period_s > 0 && std::abs(seen_.shape.period_s / *windows.period_s - 1) > 0.2;
    if (!d_.settings.protocol_stated || !speed_off) return;
    if (!failing("t0h") && !failing("t1h") && !failing("speed")) return;
    const bool rings = symptoms_.rings_hard || symptoms_.overshoot_ratio > 0.3;
    if (failing("recrossing") && (rings || !seen_.fits_instead)) return;  // edges that come back look like more and shorter bits
    if (seen_.garbled && !d_.capture.logic) return;
    std::string text = "The controller sends bits of " + seconds(seen_.shape.period_s) + ", a " + windows.chip + " (" +
                       windows.edition + ") wants " + seconds(*windows.period_s) + ".";
    if (seen_.fits_instead)
      text += " The pulses fit " + seen_.fits_instead->chip + " (" + seen_.fits_instead->edition + ").";
    if (seen_.garbled) text += kCutOrJoined;
    Cause& cause = add("wrong-protocol", seen_.garbled ? kByLineToo : seen_.fits_instead ? 0.95 : 0.85, text);
    describe_pulses(cause);
    cause.refuted_by =
        "the marking on the pixels showing the other chip: then the capture is right and --protocol is wrong";
    cause.action = "Set the controller to the chip that is fitted, or correct --protocol.";
  }

  void describe_pulses(Cause& cause) const {
    if (seen_.shape.period_s > 0) cause.evidence["period_s"] = Measured::of(seen_.shape.period_s);
    if (seen_.shape.pulses == 0) return;
    cause.evidence["short_pulse_s"] = Measured::of(seen_.shape.short_s);
    cause.evidence["long_pulse_s"] = Measured::of(seen_.shape.long_s);
  }

  void add_signal_causes() {
    add_near_end_step();
    add_low_drive();
    add_ground_offset();
    add_supply_sag();
    add_probe_artefact();
    add_overdamped();
    add_underdamped();
    add_source_timing();
    add_latch_gap();
    add_noise();
    add_bits_lost();
  }

  // The dwell at the near end is a voltage divider of source and line: it tells their ratio.
  void add_near_end_step() {
    const NearStep& step = seen_.near_step;
    if (!at_controller() || !step || !step.source_ratio) return;
    const double ratio = *step.source_ratio, surely = ratio - 2 * step.source_ratio.u;
    if (surely < 1.3) return;  // up to there the first arrival at the open end gets to 0.87 of the swing or more
    // The pixel gets twice the launched step: 2 / (1 + R / Z0) of the swing against VIH.
    const double first_v = 2 / (1 + ratio) * value_or(d_.levels.peak_max_v, d_.settings.supply_v);
    const bool falls_short = 2 / (1 + surely) * value_or(d_.levels.peak_max_v, 5) < d_.settings.vih_v;
    Cause& cause = add("overdamped-source", falls_short ? 0.8 : 0.5,
                       "The edge dwells at " + volts(step.level_v) + " for " + seconds(step.round_trip_s) + ", until the echo is back: the source has " +
                           one_decimal(ratio) + " times the line's impedance, and the first step at the pixel gets to about " + one_decimal(first_v) +
                           " V" + (falls_short ? ", below VIH." : "."));
    cause.evidence["near_end_dwell_v"] = step.level_v;
    cause.evidence["round_trip_s"] = step.round_trip_s;
    cause.evidence["source_ratio"] = step.source_ratio;
    cause.refuted_by = "a capture at the pixel in which the first step goes past VIH, or a probe before the resistor";
    cause.action = "Fit a smaller series resistor at the controller, then capture at the pixel's data input.";
  }

  static std::string one_decimal(double value) {
    const auto tenths = static_cast<long>(std::lround(10 * value));
    return std::to_string(tenths / 10) + "." + std::to_string(tenths % 10);
  }

  // The high has settled and still is too low: drive level, not edge speed.
  void add_low_drive() {
    const auto& high = d_.levels.high_v;
    if (!failing("high-level") || !high || *high > d_.settings.vih_v) return;
    const bool logic_level = *high > 2.6 && *high < 3.7;
    const bool swing_would_do = value_or(d_.levels.amplitude_v, 0) > d_.settings.vih_v;  // from a low level of 0 V
    Cause& cause =
        add("low-drive-level", (fails("high-level") ? 0.93 : 0.75) - (symptoms_.unsettled || symptoms_.rings_hard || swing_would_do ? 0.6 : 0),
            "The high level of " + volts(*high) + " is below the " + volts(d_.settings.vih_v) +
                " from which this chip surely reads high" +
                (logic_level ? ": a 3.3 V output drives a pixel on " + volts(d_.settings.supply_v) + "." : "."));
    cause.evidence["high_v"] = high;
    cause.evidence["high_plateau_min_v"] = d_.levels.high_plateau_min_v;
    cause.evidence["vih_v"] = Measured::of(d_.settings.vih_v);
    cause.refuted_by = "a meter at the pixel's own supply showing less than " + volts(*high / 0.7) +
                       ", or a chip whose sheet prints a lower VIH: state --supply and --protocol";
    cause.action =
        "Fit a level shifter with TTL-level inputs (74AHCT or 74HCT type) on the pixel's supply, close to the "
        "controller.";
  }

  void add_ground_offset() {
    const auto& low = d_.levels.low_v;
    if (!low || fitness_.find("ac-coupled") != nullptr || fitness_.find("probe-factor") != nullptr) return;
    const double beyond_v = std::abs(*low) - 2 * low.u;
    if (beyond_v < 0.04 * d_.settings.supply_v) return;
    const bool harms =
        failing("low-level") || failing("high-level") || failing("undershoot") || failing("ground-offset");
    const bool moved_together =
        std::abs(value_or(d_.levels.high_v, 0) - d_.settings.supply_v - *low) < 0.06 * d_.settings.supply_v;
    Cause& cause = add("ground-offset",
                       0.45 + (harms ? 0.2 : 0) + (fails("low-level") ? 0.15 : 0) -
                           (symptoms_.unsettled || symptoms_.rings_hard ? 0.4 : 0) + (moved_together ? 0.12 : 0),
                       "The low level rests at " + volts(*low) +
                           " instead of 0 V: the ground at the pixels and the ground of the data driver differ.");
    cause.evidence["low_v"] = low;
    cause.evidence["low_plateau_max_v"] = d_.levels.low_plateau_max_v;
    cause.refuted_by =
        "the same reading with probe tip and clip both on the pixel's ground: then it is the scope's offset";
    cause.action =
        "Give the data its own ground wire beside it, shorten and thicken the supply's return, and feed the pixels so "
        "that their current does not share it.";
  }

  void add_supply_sag() {
    const auto& drift = d_.levels.high_drift_v;
    if (!drift || *drift + 2 * drift.u > -0.03 * d_.settings.supply_v) return;
    Cause& cause = add("supply-sag", (failing("supply-sag") ? 0.75 : 0.4) - (symptoms_.unsettled || symptoms_.rings_hard || symptoms_.wanders_at_rest || (seen_.garbled && symptoms_.slow) ? 0.45 : 0),
                       "The high level falls by " + volts(-*drift) +
                           " from the start to the end of a frame: the supply of the driver gives way under load.");
    cause.evidence["high_drift_v"] = drift;
    cause.evidence["low_drift_v"] = d_.levels.low_drift_v;
    cause.refuted_by = "a steady supply on a second probe during the frame";
    cause.action =
        "Measure the supply at controller and first pixel during a bright frame; feed power in at more points and add "
        "a reservoir capacitor.";
  }

  void add_probe_artefact() {
    const auto& beside = d_.ringing.probe_frequency_hz;
    if (!symptoms_.probe_rings && !beside) return;
    const auto& frequency = symptoms_.probe_rings ? d_.ringing.frequency_hz : beside;
    const auto& why = d_.ringing.source_why;
    Cause& cause =
        symptoms_.probe_rings ? add("probe-artefact", 0.85,
                           "The ring of " + megahertz(*frequency) + " after each edge is that of the probe's ground lead, not of the line" +
                               (why.empty() ? "." : ": " + why + "."))
                     : add("probe-artefact", 0.6,
                           "On each step of the line rides a ring of " + megahertz(*frequency) + ", " +
                               ratio_percent(*d_.ringing.probe_amplitude_ratio) +
                               " of the signal, which dies out before the line's first echo: the probe's ground lead. It adds to every peak.");
    cause.evidence["ringing_frequency_hz"] = frequency;
    if (symptoms_.probe_rings) cause.evidence["overshoot_ratio"] = symptoms_.overshoot;
    else cause.evidence["probe_amplitude_ratio"] = d_.ringing.probe_amplitude_ratio;
    cause.refuted_by = "the same ring with a ground spring of a centimetre instead of the lead";
    cause.action =
        "Capture again with the probe's ground spring, or a wire of a centimetre, at the pixel's own ground.";
  }

  void add_overdamped() {
    if (found("overdamped-source")) return;
    if (!symptoms_.slow || symptoms_.overshoot_ratio > 0.08 || fitness_.find("bandwidth-limited") != nullptr) return;
    const bool high_missed = value_or(d_.levels.high_v, 0) > d_.settings.vih_v && failing("high-level");
    const bool harms = high_missed || failing("t0h") || failing("t1h") || failing("edge-duration") ||
                       failing("undecided") || failing("whole-pixels") || failing("monotonic") || failing("recrossing");
    if (!harms && symptoms_.slowest && symptoms_.slowest_s < 0.4 * d_.settings.windows.t0h.typical_s()) return;
    const auto& shift = d_.pulses.high_after_long_low_shift_s;
    const bool remembers = shift && std::abs(*shift) > 2 * shift.u && std::abs(*shift) > 3e-9;
    const auto& ratio = d_.line.source_ratio;
    const bool model_agrees = ratio && *ratio - ratio.u > 1;
    if (at_controller() && !model_agrees) return;  // there every line has steps
    const bool model_denies = !symptoms_.unsettled && ratio && *ratio + 2 * ratio.u < 1;
    Cause& cause = add(
        "overdamped-source",
        0.55 + (high_missed ? 0.12 : 0) + (harms ? 0.1 : 0) + (remembers ? 0.08 : 0) + (model_agrees ? 0.12 : 0) -
            (model_denies || symptoms_.wanders_at_rest ? 0.35 : 0),
        (symptoms_.slowest ? "The edges take " + seconds(symptoms_.slowest) : std::string("The edges do not end within a bit")) +
            ": too much resistance feeds this cable, which has to fill up step by step with every bit.");
    cause.evidence["duration_10_90_s"] = d_.rising.duration_10_90_s;
    cause.evidence["high_plateau_min_v"] = d_.levels.high_plateau_min_v;
    cause.evidence["width_after_0_minus_after_1_s"] = shift;
    if (ratio) cause.evidence["source_ratio"] = ratio;
    cause.refuted_by =
        "edges just as slow at the controller's own output with the cable off, or a scope and probe of less than " +
        megahertz(0.7 / std::max(symptoms_.slowest_s, slow_edge_s)) + " bandwidth";
    cause.action = "Fit a smaller series resistor at the controller.";
  }

  void add_underdamped() {
    if (symptoms_.probe_rings) return;
    const bool harms = (failing("overshoot") && swings_past_the_supply()) || (failing("undershoot") && swings_below_ground()) ||
                       (failing("recrossing") && symptoms_.overshoot_ratio > 0.08);
    if (!harms && symptoms_.overshoot_ratio - 2 * symptoms_.overshoot.u < 0.15) return;
    if (symptoms_.overshoot_ratio < 0.04) return;
    const auto& ratio = d_.line.source_ratio;
    const bool model_agrees = ratio && *ratio + ratio.u < 1;
    if (at_controller() && !model_agrees) return;
    const bool line_rings = d_.ringing.frequency_hz.value && d_.ringing.source == RingSource::line;
    const std::string at_least = d_.capture.clipped_high > 0 ? "at least " : "";  // the record ends at the scope's range
    const std::string reach = d_.levels.peak_max_v ? ", peaks to " + at_least + volts(*d_.levels.peak_max_v) : std::string{};
    const double confidence = 0.4 + (harms ? 0.15 : 0) + (symptoms_.overshoot_ratio > 0.2 ? 0.15 : 0) + (line_rings ? 0.12 : 0) +
                              (model_agrees ? 0.12 : 0) - (line_rings || model_agrees || symptoms_.rings_hard ? 0 : 0.12) -
                              (symptoms_.wanders_at_rest ? 0.35 : 0);
    // A small overshoot on the limit is no surer than the check.
    const bool sure = (fails("overshoot") && swings_past_the_supply()) || fails("undershoot") || fails("recrossing") || symptoms_.overshoot_ratio > 0.15;
    Cause& cause = add("underdamped-source", sure ? confidence : std::min(confidence, 0.45),
                       "The line rings: " + at_least + ratio_percent(symptoms_.overshoot_ratio) + " overshoot" + reach +
                           ". Too little resistance at the source lets the wave run to and fro on the cable.");
    cause.evidence["overshoot_ratio"] = symptoms_.overshoot;
    cause.evidence["ringing_frequency_hz"] = d_.ringing.frequency_hz;
    if (ratio) cause.evidence["source_ratio"] = ratio;
    cause.refuted_by = "a ring that changes when only the probe's ground lead is moved";
    cause.action = "Fit a larger series resistor at the controller's output.";
  }

  // From a low level at 0 V too; otherwise what lifts both levels takes the peaks past the limit.
  bool swings_past_the_supply() const {
    const Check* check = find_check(d_.checks, "overshoot");
    const double lifted_v = std::max(0.0, value_or(d_.levels.low_v, 0));
    return check == nullptr || !check->value || !check->limit_high || *check->value - lifted_v > *check->limit_high;
  }

  // From a low level at ground the ring makes most of the half volt down to the limit; otherwise the ground has moved.
  bool swings_below_ground() const { return symptoms_.overshoot_ratio * value_or(d_.levels.amplitude_v, d_.settings.supply_v) > 0.3; }

  void add_source_timing() {
    const bool by_place = !seen_.widths_by_place_because.empty();
    const bool zero_off = failing("t0h") || (by_place && outside("t0h")), one_off = failing("t1h") || (by_place && outside("t1h"));
    if ((!zero_off && !one_off) || found("wrong-protocol")) return;
    const auto& windows = d_.settings.windows;
    const bool zero_by_edges = !zero_off || threshold_decides(d_.pulses.zero.high_width, windows.t0h);
    const bool one_by_edges = !one_off || threshold_decides(d_.pulses.one.high_width, windows.t1h);
    if (zero_by_edges && one_by_edges) return;
    const bool slow = symptoms_.unsettled || symptoms_.slowest_s > 0.3 * d_.settings.windows.t0h.typical_s();
    const bool certain = fails("t0h") || fails("t1h");
    const PulseClass& off = zero_off ? d_.pulses.zero : d_.pulses.one;
    const char* bit = zero_off ? "0" : "1";
    const double jitter_s = value_or(off.high_width.sd_s, 0);
    const bool unsteady = jitter_s > 40e-9 && jitter_s > 3 * seen_.interval.width.single_s;
    const Check* check = find_check(d_.checks, zero_off ? "t0h" : "t1h");
    std::string text = std::string("The pulses of a ") + bit + " are " + seconds(value_or(check->value, 0)) +
                       " wide, outside " + window_text(zero_off ? d_.settings.windows.t0h : d_.settings.windows.t1h) +
                       " of " + d_.settings.windows.chip +
                       (by_place    ? ". " + seen_.widths_by_place_because
                        : unsteady ? std::string(", and vary from bit to bit: the controller does not keep its bit times.")
                                   : ": the controller sends other bit times.");
    if (!d_.settings.protocol_stated && seen_.fits_instead)
      text += " They suit " + seen_.fits_instead->chip + "; state the chip.";
    // Where the low level itself wanders to the threshold, mid-level crossings are none of the controller's.
    const bool garbled = seen_.garbled || symptoms_.rings_hard || fails("low-level") || (failing("recrossing") && symptoms_.overshoot_ratio > 0.3);
    const double confidence = (certain ? 0.85 : 0.6) - (slow || garbled ? 0.45 : 0);
    Cause& cause = add("source-timing", by_place ? 0.35 : confidence, text);
    cause.evidence[zero_off ? "t0h_s" : "t1h_s"] = check->value;
    cause.evidence["sd_s"] = off.high_width.sd_s;
    cause.refuted_by = "right widths on the controller's own pin, before the series resistor: then cable or edges change them";
    cause.action = by_place ? "Capture the pixel's data input with an oscilloscope, or put the logic probe on the controller's own pin, before "
                              "the series resistor, and state --at near --series-ohms 0."
                            : "Set the bit times (or the chip type) in the controller's firmware.";
  }

  bool outside(const char* id) const {
    const Check* check = find_check(d_.checks, id);
    return check != nullptr && decide(check->value, check->limit_low, check->limit_high) == Outcome::fail;
  }

  bool threshold_decides(const WidthStatistics& widths, const Window& window) const {
    return judge_widths(widths, window, seen_.interval).threshold_decides;
  }

  static std::string window_text(const Window& window) {
    if (window.min_s && window.max_s) return "the " + seconds(*window.min_s) + " to " + seconds(*window.max_s);
    if (window.min_s) return "the minimum of " + seconds(*window.min_s);
    return "the maximum of " + seconds(window.max_s.value_or(window.typical_s()));
  }

  void add_latch_gap() {
    if (!failing("latch-gap")) return;
    const auto& gap = d_.pulses.latch_gap_min_s;
    Cause& cause = add("latch-gap-short", fails("latch-gap") ? 0.9 : 0.6,
                       "The pause between frames is " + seconds(*gap) + "; this chip may need " +
                           seconds(d_.settings.windows.latch_gap_min_s.value_or(0)) + " to take a frame over.");
    cause.evidence["latch_gap_min_s"] = gap;
    cause.refuted_by = "a pause inside one frame: then the controller stalls while it sends";
    cause.action = "Lengthen the pause between frames in the controller's firmware.";
  }

  void add_noise() {
    const auto& noise = d_.capture.noise_rms_v;
    const double amplitude_v = value_or(d_.levels.amplitude_v, 0);
    const bool noisy = noise && amplitude_v > 0 && *noise > 0.05 * amplitude_v;
    const bool slow = symptoms_.slow;  // steps of a slow line return on their own
    const bool returns = failing("recrossing") && symptoms_.overshoot_ratio < 0.3 && !slow;
    const bool strays = failing("undecided") && symptoms_.overshoot_ratio < 0.3 && !slow;
    const bool reversals = failing("monotonic") && symptoms_.overshoot_ratio < 0.1 && !slow;
    const bool wanders = low_level_wanders();
    if (symptoms_.probe_rings || (!noisy && !returns && !strays && !reversals && !wanders)) return;
    if (noisy && !wanders && !returns && !strays && !reversals && !failing("high-level") && !failing("low-level") &&
        !failing("overshoot") && !failing("undershoot"))
      return;
    Cause& cause =
        add("crosstalk-or-noise",
            0.3 + (noisy ? 0.4 : 0) + (wanders ? 0.3 : 0) + (returns ? 0.12 : 0) + (strays ? 0.15 : 0) + (reversals ? 0.05 : 0),
            symptoms_.wanders_at_rest ? "Between frames, where no bit moves it, the low level wanders by " + volts(d_.levels.low_rest_wander_v) +
                                   ": hum or another current lifts the ground or couples into the line."
            : wanders ? "The low level wanders between " + volts(d_.levels.low_v) + " and " + volts(d_.levels.low_plateau_max_v) +
                          ": hum or another current lifts the ground or couples into the line."
            : noisy ? "Noise of " + volts(*noise) + " rms rides on the line and reaches the thresholds of the chip."
                  : "Stray pulses or returning edges that neither slow edges nor ringing explain: something couples "
                    "into the line.");
    cause.evidence["noise_rms_v"] = noise;
    cause.evidence["recrossings"] = Measured::of(static_cast<double>(d_.rising.recrossings + d_.falling.recrossings));
    cause.evidence["undecided_pulses"] = Measured::of(static_cast<double>(d_.pulses.undecided));
    cause.refuted_by = "the same noise with the probe tip on the pixel's ground: then the probe picks it up";
    cause.action =
        "Run the data wire with its own ground beside it, away from mains and motor leads, and capture again.";
  }

  // The low between two pulses is sometimes far above its usual level, without ringing or a slow line that would explain it.
  bool low_level_wanders() const {
    if (symptoms_.wanders_at_rest) return true;
    const auto &low = d_.levels.low_v, &highest = d_.levels.low_plateau_max_v;
    if (!low || !highest || !d_.levels.amplitude_v || symptoms_.slow || symptoms_.rings_hard || symptoms_.overshoot_ratio > 0.45) return false;
    return failing("low-level") && *highest - *low > 0.15 * *d_.levels.amplitude_v + 2 * highest.u;
  }

  void add_bits_lost() {
    const bool leftover = failing("whole-pixels"), odd = failing("repeated-frames");
    if (!leftover && !odd) return;
    const auto amount =
        leftover ? count(seen_.frames_with_leftover, "frame does", "frames do") + " not hold whole pixels"
                 : count(seen_.odd_frames, "frame differs", "frames differ") + " from neighbours that are alike";
    // Lost bits follow from a bad signal: a cause that explains them stands first.
    const bool explained =
        std::any_of(causes_.begin(), causes_.end(), [](const Cause& cause) { return cause.confidence >= 0.5; });
    Cause& cause =
        add("bits-lost", (leftover ? 0.8 : 0.5) - (explained || symptoms_.slow || symptoms_.rings_hard || (seen_.garbled && d_.capture.logic) ? 0.4 : 0), "Bits are lost or added: " + amount + ".");
    cause.evidence["frames_with_leftover"] = Measured::of(static_cast<double>(seen_.frames_with_leftover));
    cause.evidence["differing_bits"] = Measured::of(static_cast<double>(d_.frames.differing_bits));
    cause.refuted_by = leftover ? "a chip with another number of bits a pixel than " +
                                      std::to_string(d_.settings.windows.bits_per_pixel)
                                : "content that really changes for one frame";
    cause.action =
        "Capture the controller's output too (--near): if the bits are whole there, the line loses them; if not, the "
        "firmware does.";
  }

  const Diagnosis& d_;
  const Observations& seen_;
  const Fitness& fitness_;
  const Symptoms symptoms_;
  std::vector<Cause> causes_;
};

}  // namespace

std::vector<Cause> find_causes(const Diagnosis& diagnosis, const Observations& seen, const Fitness& fitness) {
  return Investigation(diagnosis, seen, fitness).all();
}

}  // namespace pulsewright::analyzer
