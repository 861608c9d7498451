#include "analyzer/verdict/checks.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "analyzer/verdict/decision.hpp"
#include "analyzer/verdict/phrases.hpp"
#include "analyzer/verdict/width_check.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr const char* kAbsoluteMaximum =
    "absolute maximum of the pixel's data input, −0.5 V to VDD + 0.5 V (WS2812B data sheet)";
constexpr double kOlderLatch_s = 50e-6;
constexpr const char* kProbeRing = "the probe's own ring hides what the line does";
constexpr const char* kPractice = "common practice, no source";

class Questions {
 public:
  Questions(const Diagnosis& diagnosis, const Observations& seen)
      : d_(diagnosis), seen_(seen), windows_(diagnosis.settings.windows) {}

  std::vector<Check> all() {
    ask_levels();
    ask_excursions();
    ask_edges();
    ask_high_times();
    ask_speed();
    ask_frames();
    ask_low_times();
    ask_every_edition();
    ask_measured_acceptance();
    ask_supply_and_ground();
    withdraw_widths_of_the_place();
    withdraw_what_the_probe_adds();
    withdraw_what_no_chip_sees();
    return std::move(checks_);
  }

 private:
  struct Limits {
    std::optional<double> low, high;
  };

  Check& ask(std::string id, std::string name, const Measured& value, Limits limits, std::string unit,
             std::string source) {
    Check check;
    check.id = std::move(id);
    check.name = std::move(name);
    check.value = value;
    check.limit_low = limits.low;
    check.limit_high = limits.high;
    check.unit = std::move(unit);
    check.source = std::move(source);
    check.result = decide(value, limits.low, limits.high);
    checks_.push_back(std::move(check));
    return checks_.back();
  }

  Check& advise(std::string id, std::string name, const Measured& value, Limits limits, std::string unit,
                std::string source) {
    Check& check = ask(std::move(id), std::move(name), value, limits, std::move(unit), std::move(source));
    check.advisory = true;
    return check;
  }

  // A voltage, or why this capture has none.
  Measured voltage(const Measured& value) const {
    return seen_.no_voltages_because.empty() ? value : Measured::none(seen_.no_voltages_because);
  }

  // Beyond a rail of the converter the true voltage is unknown.
  Measured peak(const Measured& value, std::size_t clipped, bool beyond_limit, double beyond_v) const {
    Measured known = voltage(value);
    if (known && (seen_.probe_rings || probe_may_add(beyond_v))) return Measured::none(kProbeRing);
    if (known && !beyond_limit && !seen_.no_edges_because.empty()) return Measured::none(seen_.no_edges_because);
    if (known && clipped > 0 && !beyond_limit)
      return Measured::none("the capture is clipped: the true peak lies outside the screen");
    return known;
  }

  // A peak beyond its limit by less than the first swing of the probe's own ring says nothing of the line.
  bool probe_may_add(double beyond_v) const {
    const auto& share = d_.ringing.probe_amplitude_ratio;
    return share && d_.levels.amplitude_v && beyond_v > 0 && beyond_v < (*share + 2 * share.u) * *d_.levels.amplitude_v;
  }

  std::string input_levels_source() const {
    const bool printed = windows_.levels.basis != InputLevels::Basis::not_printed;
    return printed ? windows_.source : "0.7 and 0.3 of the supply, usual for CMOS inputs; the sheet prints no levels";
  }

  void ask_levels() {
    const double vih_v = d_.settings.vih_v, vil_v = d_.settings.vil_v;
    auto& high = ask("high-level", "High level reaches VIH", voltage(d_.levels.high_plateau_min_v), {vih_v, {}}, "V",
                     input_levels_source());
    high.text = "The lowest settled high of any pulse against the voltage from which the chip surely reads high.";
    auto& low = ask("low-level", "Low level stays below VIL", voltage(d_.levels.low_plateau_max_v), {{}, vil_v}, "V",
                    input_levels_source());
    low.text = "The highest settled low between pulses against the voltage up to which the chip surely reads low.";
  }

  void ask_excursions() {
    const double above_v = d_.settings.supply_v + 0.5, below_v = -0.5;
    const auto& most = d_.levels.peak_max_v;
    const auto& least = d_.levels.peak_min_v;
    auto& over =
        ask("overshoot", "Peaks stay below VDD + 0.5 V", peak(most, d_.capture.clipped_high, most && *most > above_v, most ? *most - above_v : 0),
            {{}, above_v}, "V", kAbsoluteMaximum);
    over.text = "Above that the input's clamp diode conducts into the supply.";
    auto& under =
        ask("undershoot", "Peaks stay above −0.5 V", peak(least, d_.capture.clipped_low, least && *least < below_v, least ? below_v - *least : 0),
            {below_v, {}}, "V", kAbsoluteMaximum);
    under.text = "Below that the input's clamp diode conducts into the ground.";
  }

  void ask_edges() {
    const auto edges = d_.rising.count + d_.falling.count;
    const auto shapes_seen = [&](double value) {
      if (seen_.probe_rings) return Measured::none(kProbeRing);
      if (!seen_.no_edges_because.empty()) return Measured::none(seen_.no_edges_because);
      return edges == 0 ? Measured::none("no edge in the record") : Measured::of(value);
    };
    const auto crossed_back = d_.rising.recrossings + d_.falling.recrossings;
    auto& recrossing =
        ask("recrossing", "No edge comes back across a threshold", shapes_seen(static_cast<double>(crossed_back)),
            {{}, 0}, "1", "an edge counts once only if it does not return; " + input_levels_source());
    recrossing.text =
        "Edges after which the voltage returns across VIH or VIL: the chip may count another bit or end one early.";
    const bool reversed = !d_.rising.monotonic.value_or(true) || !d_.falling.monotonic.value_or(true);
    const bool known = d_.rising.monotonic || d_.falling.monotonic;
    auto& monotonic = ask("monotonic", "Edges run one way between VIL and VIH",
                          known ? shapes_seen(reversed ? 1 : 0) : Measured::none("no edge resolved in the record"),
                          {{}, 0}, "1", kPractice);
    if (reversed && crossed_back == 0 && monotonic.result == Outcome::fail) monotonic.result = Outcome::marginal;
    monotonic.text = "A reversal between the thresholds is where noise turns one edge into two.";
    ask_edge_duration();
  }

  void ask_edge_duration() {
    const double shortest_s = windows_.t0h.min_s.value_or(0.7 * windows_.t0h.typical_s());
    const auto& rising = d_.rising.duration_10_90_s;
    const auto& falling = d_.falling.duration_10_90_s;
    const Measured& slower = !rising || (falling && *falling > *rising) ? falling : rising;
    auto& check = advise("edge-duration", "Edges are done before the shortest pulse ends", slower, {{}, shortest_s},
                         "s", kPractice);
    check.text = "Slower edges make the width that the chip sees depend on its own threshold and on the bit before.";
  }

  std::string timing_source() const {
    return windows_.source + (windows_.seen ? "" : " (not read in the sheet itself)");
  }

  Check& ask_width(std::string id, std::string name, const WidthStatistics& widths, const Window& window) {
    Check& check =
        ask(std::move(id), std::move(name), widths.mean_s, {window.min_s, window.max_s}, "s", timing_source());
    if (!seen_.no_timing_because.empty()) {
      check.value = Measured::none(seen_.no_timing_because);
      check.result = Outcome::cannot_tell;
      return check;
    }
    const WidthAnswer answer = judge_widths(widths, window, seen_.interval);
    check.value = answer.value;
    check.result = answer.result;
    if (check.result == Outcome::cannot_tell && widths.mean_s) {
      check.text = window.min_s || window.max_s ? "The widths of this capture are too uncertain for this window."
                                                : "The sheet prints no limits, only a nominal time.";
    }
    if (answer.threshold_decides) {
      check.text = "Inside at the mid level, but the edges are so slow that at " +
                   phrases::ratio_percent(answer.threshold_share) +
                   " of the thresholds between VIL and VIH the chip sees a width outside.";
    }
    return check;
  }

  void ask_high_times() {
    const char* pulse = seen_.active_low ? "LOW" : "high";
    const auto describe = [](Check& check, const char* text) {
      if (check.text.empty()) check.text = text;
    };
    describe(ask_width("t0h", std::string("Time ") + pulse + " of a 0", d_.pulses.zero.high_width, windows_.t0h),
             "Narrowest and widest 0 between mid-level crossings against the window.");
    describe(ask_width("t1h", std::string("Time ") + pulse + " of a 1", d_.pulses.one.high_width, windows_.t1h),
             "Narrowest and widest 1 between mid-level crossings against the window.");
    soften_for_unstated_chip();
    const auto total = d_.pulses.zero.count + d_.pulses.one.count + d_.pulses.undecided;
    auto& undecided = ask(
        "undecided", "Every pulse is clearly a 0 or a 1",
        total > 0 ? Measured::of(static_cast<double>(d_.pulses.undecided)) : Measured::none("no pulse in the record"),
        {{}, 0}, "1", "pulses in the middle between both classes, or far outside both");
    undecided.text = "Pulses that the chip may read either way, or that are no bit at all.";
  }

  // Nobody said which chip it is: pulses that another chip of this speed takes do not prove a fault.
  void soften_for_unstated_chip() {
    if (d_.settings.protocol_stated || seen_.fits_instead == nullptr) return;
    for (auto& check : checks_) {
      if ((check.id != "t0h" && check.id != "t1h") || check.result != Outcome::fail) continue;
      check.result = Outcome::marginal;
      check.text = "Outside the WS2812B windows assumed here, but as " + seen_.fits_instead->chip + " (" +
                   seen_.fits_instead->edition + ") wants it: state the chip.";
    }
  }

  // A width that the line may have moved past the recorder's threshold proves nothing of what the pixel takes.
  void withdraw_widths_of_the_place() {
    if (seen_.widths_by_place_because.empty()) return;
    for (auto& check : checks_) {
      const bool width = check.unit == "s" && check.id != "latch-gap" && check.id != "pause-in-frame" && check.id != "speed";
      if (!width || check.result == Outcome::pass) continue;
      check.result = Outcome::cannot_tell;
      check.text = seen_.widths_by_place_because;
    }
  }

  // The period itself hardly matters to a chip, but a bit rate far from the sheet's is another protocol.
  void ask_speed() {
    if (!windows_.period_s) return;
    const double period_s = *windows_.period_s;
    const double allowed_s = std::max(windows_.period_tolerance_s.value_or(0), 0.35 * period_s);
    const bool long_pauses = windows_.t0l.max_s.value_or(0) >= 5e-6;
    const bool seen = seen_.shape.period_s > 0 && seen_.no_timing_because.empty();
    auto& speed = ask("speed", "Bits come at the chip's speed",
                      seen ? Measured::of(seen_.shape.period_s, seen_.interval.of_one_s(seen_.shape.period_s))
                           : Measured::none("no two bits in a row"),
                      {period_s - allowed_s, long_pauses ? std::nullopt : std::optional(period_s + allowed_s)}, "s",
                      timing_source());
    speed.text =
        "Median distance of bits against the printed period with its tolerance, or 35 % where none is printed.";
  }

  void ask_frames() {
    auto& gap = ask("latch-gap", "Pause between frames latches", d_.pulses.latch_gap_min_s,
                    {windows_.latch_gap_min_s, {}}, "s", timing_source());
    gap.text = gap.value ? "The shortest pause between two frames against the chip's reset time."
                         : "No pause between two frames was captured.";
    if (windows_.id == kDefaultWindowsId && gap.result == Outcome::fail && *gap.value >= kOlderLatch_s) {
      gap.result = Outcome::marginal;
      gap.text = "Long enough for the parts of 2013 (50 us), too short for later ones (280 to 300 us).";
    }
    const bool seen = seen_.complete_frames > 0;
    auto& whole = ask("whole-pixels", "Frames hold whole pixels",
                      seen ? Measured::of(static_cast<double>(seen_.frames_with_leftover))
                           : Measured::none("the record holds no complete frame"),
                      {{}, 0}, "1", std::to_string(windows_.bits_per_pixel) + " bits a pixel");
    whole.text = "Complete frames whose number of bits is not a multiple of a pixel's.";
    const bool comparable = seen_.complete_frames >= 3;
    auto& repeated = advise("repeated-frames", "Repeated frames are alike",
                            comparable ? Measured::of(static_cast<double>(seen_.odd_frames))
                                       : Measured::none("fewer than three complete frames"),
                            {{}, 0}, "1", kPractice);
    if (repeated.result == Outcome::fail) repeated.result = Outcome::marginal;
    repeated.text =
        "Frames unlike two neighbours that are alike. Changing content looks different, a misread bit looks like this.";
  }

  void ask_low_times() {
    constexpr const char* kSofter =
        "Softer than the high times: bench studies found that the chip looks at the level once after each rising edge, "
        "so the "
        "pause only has to be there in time.";
    const auto soft = [&](const char* id, const char* name, WidthStatistics widths, const Window& window) {
      if (window.empty()) return;
      widths.at_vil_mean_s = widths.at_vih_mean_s = Measured::none("judged at the mid level");
      Check& check = ask_width(id, name, widths, window);
      check.advisory = true;
      check.text = kSofter;
    };
    soft("t0l", "Pause after a 0", d_.pulses.zero.low_width, windows_.t0l);
    soft("t1l", "Pause after a 1", d_.pulses.one.low_width, windows_.t1l);
    if (!windows_.period_s || !windows_.period_tolerance_s) return;
    Check& period = ask_width("period", "Bit period", d_.pulses.period,
                              {*windows_.period_s - *windows_.period_tolerance_s, windows_.period_s,
                               *windows_.period_s + *windows_.period_tolerance_s});
    period.advisory = true;
    period.text = kSofter;
  }

  // High times that every printed edition of the chip accepts.
  void ask_every_edition() {
    if (windows_.id != kDefaultWindowsId) return;
    constexpr const char* kSource = "common to the five WS2812B sheets of 2013-05, 2013-10, 2013-12, later and V5";
    const auto strict = [&](const char* id, const char* name, const WidthStatistics& widths, double min_s,
                            double max_s) {
      Check& check = ask_width(id, name, widths, {min_s, {}, max_s});
      check.advisory = true;
      check.source = kSource;
      if (check.result == Outcome::fail) check.result = Outcome::marginal;
      check.text = "Inside this, the age of the strip does not matter.";
    };
    strict("t0h-every-edition", "0 as every edition wants it", d_.pulses.zero.high_width, 250e-9, 380e-9);
    strict("t1h-every-edition", "1 as every edition wants it", d_.pulses.one.high_width, 750e-9, 950e-9);
  }

  void ask_measured_acceptance() {
    const auto measured = measured_for(windows_.chip);
    if (measured.empty()) return;
    const auto tightest = [&](auto member, bool smallest) {
      std::optional<double> found;
      for (const auto& entry : measured) {
        const std::optional<double>& value = entry.*member;
        if (value && (!found || (smallest ? *value < *found : *value > *found))) found = value;
      }
      return found;
    };
    const std::string source = measured.front().chip + ", " + measured.front().source;
    const auto bench = [&](const char* id, const char* name, const WidthStatistics& widths, const Window& window) {
      if (window.empty()) return;
      Check& check = ask_width(id, name, widths, window);
      check.advisory = true;
      check.source = source;
      check.text = "What such chips were measured to take; not a limit that their maker gives.";
    };
    bench("measured-zero", "0 as bench-tested chips take it", d_.pulses.zero.high_width,
          {{}, {}, tightest(&MeasuredAcceptance::zero_max_s, true)});
    bench("measured-one", "1 as bench-tested chips take it", d_.pulses.one.high_width,
          {tightest(&MeasuredAcceptance::one_min_s, false), {}, {}});
    bench("measured-period", "Bits no closer than bench-tested chips follow", d_.pulses.period,
          {tightest(&MeasuredAcceptance::shortest_period_s, false), {}, {}});
    const auto latched_s = tightest(&MeasuredAcceptance::latch_gap_s, true);
    if (!latched_s || !d_.pulses.longest_pause_in_frame_s) return;
    auto& pause = advise("pause-in-frame", "No pause inside a frame that already latched a tested chip",
                         d_.pulses.longest_pause_in_frame_s, {{}, latched_s}, "s", source);
    pause.text = "Older chips take a long pause inside a frame for its end.";
  }

  // A ring of the probe that returns through the thresholds cuts pulses and plateaus that the line does not have.
  void withdraw_what_the_probe_adds() {
    if (!seen_.probe_rings || d_.rising.recrossings + d_.falling.recrossings == 0) return;
    for (auto& check : checks_) {
      if (check.result == Outcome::pass) continue;
      check.value = Measured::none(kProbeRing);
      check.result = Outcome::cannot_tell;
    }
  }

  void withdraw_what_no_chip_sees() {
    if (seen_.not_as_received_because.empty()) return;
    for (auto& check : checks_) {
      if (check.id == "latch-gap" || check.id == "ground-offset") continue;
      check.value = Measured::none(seen_.not_as_received_because);
      check.result = Outcome::cannot_tell;
    }
  }

  void ask_supply_and_ground() {
    const double allowed_v = 0.05 * d_.settings.supply_v;
    auto& sag = advise("supply-sag", "High level holds along the frame", voltage(d_.levels.high_drift_v),
                       {-allowed_v, allowed_v}, "V", kPractice);
    sag.text =
        "High level at the end of a frame minus at its start: a supply that sags under the pixels' current pulls it "
        "down.";
    auto& ground = advise("ground-offset", "Low level is at ground", voltage(d_.levels.low_v), {-allowed_v, allowed_v},
                          "V", kPractice);
    ground.text =
        "A CMOS driver holds its low at its own ground; a low away from zero is a ground shift along the cable or an "
        "offset of the scope.";
  }

  const Diagnosis& d_;
  const Observations& seen_;
  const TimingWindows& windows_;
  std::vector<Check> checks_;
};

}  // namespace

std::vector<Check> run_checks(const Diagnosis& diagnosis, const Observations& seen) {
  return Questions(diagnosis, seen).all();
}

const Check* find_check(const std::vector<Check>& checks, std::string_view id) {
  const auto found = std::find_if(checks.begin(), checks.end(), [&](const Check& check) { return check.id == id; });
  return found == checks.end() ? nullptr : &*found;
}

}  // namespace pulsewright::analyzer
