#include "analyzer/diagnose.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "analyzer/conditioning/fitness.hpp"
#include "analyzer/diagnose/figures.hpp"
#include "analyzer/diagnose/fitted_line.hpp"
#include "analyzer/diagnose/near_far.hpp"
#include "analyzer/diagnose/node.hpp"
#include "analyzer/diagnose/odd_pulses.hpp"
#include "analyzer/line/tables.hpp"
#include "analyzer/protocol/classify.hpp"
#include "analyzer/protocol/frames.hpp"
#include "analyzer/protocol/pulse_statistics.hpp"
#include "analyzer/pulse/near_step.hpp"
#include "analyzer/pulse/ringing.hpp"
#include "analyzer/verdict/checks.hpp"
#include "analyzer/verdict/line_shift.hpp"
#include "analyzer/verdict/phrases.hpp"
#include "analyzer/verdict/verdict.hpp"
#include "importers/parallel.hpp"

namespace pulsewright::analyzer {

namespace {

class Session {
 public:
  Session(const importers::Capture& capture, const Settings& settings, const importers::Capture* near)
      : capture_(capture), settings_(settings), near_capture_(near) {}

  Diagnosis run() {
    take_settings();
    open_far_end();
    choose_protocol();
    measure();
    read_bits();
    judge_capture();
    open_near_end();
    find_ring_and_line_and_draw();
    decide_all();
    return std::move(d_);
  }

 private:
  void take_settings() {
    auto& used = d_.settings;
    used.protocol_stated = settings_.protocol.has_value();
    const auto* windows =
        find_windows(settings_.protocol.value_or(std::string(kDefaultWindowsId)), settings_.own_windows);
    if (windows == nullptr)
      throw SettingsError("no timing windows are called \"" + *settings_.protocol +
                          "\"; \"pulsewright protocols\" lists them");
    if (!used.protocol_stated && settings_.own_windows.size() == 1) windows = &settings_.own_windows.front();
    used.windows = *windows;
    used.supply_stated = settings_.supply_v.has_value();
    used.supply_v = settings_.supply_v.value_or(5);
    used.series_ohm = settings_.series_ohm ? Measured::of(*settings_.series_ohm) : Measured::none("not stated");
    used.driver_ohm = settings_.driver_ohm ? Measured::of(*settings_.driver_ohm) : Measured::none("not stated");
    if (settings_.cable && find_cable(*settings_.cable) == nullptr) {
      throw SettingsError("no cable is called \"" + *settings_.cable + "\"");
    }
    if (settings_.driver && !settings_.driver_ohm) take_driver(*settings_.driver);
    used.cable = settings_.cable.value_or("");
    used.length_m = settings_.length_m ? Measured::of(*settings_.length_m) : Measured::none("not stated");
    used.bandwidth_hz = settings_.bandwidth_hz ? Measured::of(*settings_.bandwidth_hz) : Measured::none("not stated");
    used.at = settings_.at.value_or(ProbePosition::far);
    used.probe_factor = settings_.probe_factor.value_or(10);
    used.inverted = settings_.invert;
    used.title = settings_.title;
    set_thresholds();
  }

  void take_driver(const std::string& id) {
    const auto* driver = find_driver(id);
    if (driver == nullptr) throw SettingsError("no driver is called \"" + id + "\"");
    d_.settings.driver_ohm = Measured::of((driver->high_ohm + driver->low_ohm) / 2, driver->u_ohm);
  }

  void set_thresholds() {
    d_.settings.vih_v = d_.settings.windows.levels.vih_v(d_.settings.supply_v);
    d_.settings.vil_v = d_.settings.windows.levels.vil_v(d_.settings.supply_v);
  }

  bool windows_chosen() const { return d_.settings.protocol_stated || settings_.own_windows.size() == 1; }

  void open_far_end() {
    far_ = open_node(capture_, choose_channel(capture_, settings_), settings_);
    d_.capture = capture_facts(capture_, *far_.channel, far_.logic ? nullptr : &far_.states);
    find_edges(far_, d_.settings.vil_v, d_.settings.vih_v);
    seen_.idle = idle_state(far_.transitions, far_.start_s(), far_.end_s());
    const bool expected_low = d_.settings.windows.inverted;
    seen_.active_low = seen_.idle == IdleState::unknown ? expected_low : seen_.idle == IdleState::high;
    pulses_ = extract_pulses(far_.transitions, seen_.active_low);
    seen_.shape = width_shape(pulses_);
  }

  void choose_protocol() {
    const ProtocolGuess guess = infer_protocol(seen_.shape, seen_.active_low);
    seen_.protocol_why = guess.why;
    seen_.is_pixel_data =
        guess.is_pixel_data || (windows_chosen() && high_times_fit(seen_.shape, d_.settings.windows, 200e-9));
    if (!windows_chosen() && guess.is_pixel_data) d_.settings.windows = guess.windows;
    if (!high_times_fit(seen_.shape, d_.settings.windows, 0)) {
      seen_.fits_instead = fitting_windows(seen_.shape, seen_.active_low, 0);
    }
    const double vih_v = d_.settings.vih_v, vil_v = d_.settings.vil_v;
    set_thresholds();
    if (vih_v == d_.settings.vih_v && vil_v == d_.settings.vil_v) return;
    find_edges(far_, d_.settings.vil_v, d_.settings.vih_v);
    pulses_ = extract_pulses(far_.transitions, seen_.active_low);
  }

  void measure() {
    measure_edges(far_, settings_);
    d_.levels = far_.levels;
    d_.rising = far_.rising;
    d_.falling = far_.falling;
    seen_.interval = far_.interval;
    blame_the_line_for_odd_pulses();
    const auto& duration = far_.rising.duration_10_90_s;
    d_.capture.samples_on_edge =
        duration && capture_.sample_interval_s > 0
            ? Measured::of(*duration / capture_.sample_interval_s, duration.u / capture_.sample_interval_s)
            : Measured::none(duration ? "no sample interval" : duration.missing);
  }

  // A line that rings back through the thresholds adds pulses of its own, one that does not get from state to state between
  // two edges swallows some: neither is a sign of another protocol.
  void blame_the_line_for_odd_pulses() {
    if (far_.transitions.size() <= 16) return;
    seen_.garbled = far_.logic ? holds_slivers(far_.transitions) || joins_bits(far_.transitions, d_.settings.windows.period_s)
                               : swings_far_beyond_both_rails() || rings_through_the_thresholds() || does_not_arrive();
    if (seen_.garbled && !far_.logic) seen_.is_pixel_data = true;
  }

  bool rings_through_the_thresholds() const {
    const auto edges = static_cast<double>(d_.rising.count + d_.falling.count);
    const auto returned = static_cast<double>(d_.rising.recrossings + d_.falling.recrossings);
    const auto& levels = d_.levels;
    const bool known = levels.peak_max_v && levels.peak_min_v && levels.amplitude_v;
    const bool wide = swings_beyond_both_rails() ||
                      (known && *levels.peak_max_v - *levels.peak_min_v > 1.5 * *levels.amplitude_v);
    const bool rings = wide || (d_.rising.overshoot_ratio && *d_.rising.overshoot_ratio > 0.25);
    return rings && returned > (wide ? 0.02 : 0.05) * edges;
  }

  // A tenth of the edges or more turn back before they have come to 90 % of the way.
  bool does_not_arrive() const {
    const auto turned = std::count_if(far_.transitions.begin(), far_.transitions.end(),
                                      [](const Transition& t) { return std::isnan(t.p10_offset_s) || std::isnan(t.p90_offset_s); });
    return 10 * static_cast<std::size_t>(turned) > far_.transitions.size();
  }

  void read_bits() {
    auto& windows = d_.settings.windows;
    classify(pulses_, seen_.shape, windows);
    cutting_ = cut_frames(pulses_, windows, far_.start_s(), far_.end_s(), seen_.interval.width.single_s);
    if (!windows_chosen() && windows.bits_per_pixel == 24) suggest_four_colours();
    d_.pulses = summarize_pulses(pulses_, cutting_, windows, seen_.interval);
    d_.frames = summarize_frames(pulses_, cutting_, windows);
    seen_.odd_frames = odd_frames(pulses_, cutting_);
    for (const auto& span : cutting_.spans) {
      if (span.cut()) continue;
      ++seen_.complete_frames;
      if (windows.bits_per_pixel > 0 && span.count % windows.bits_per_pixel != 0) ++seen_.frames_with_leftover;
    }
  }

  // Nobody stated the chip and all complete frames fill 32-bit pixels but not 24-bit ones.
  void suggest_four_colours() {
    std::size_t complete = 0, of_four = 0, of_three = 0;
    for (const auto& span : cutting_.spans) {
      if (span.cut()) continue;
      ++complete;
      if (span.count % 32 == 0) ++of_four;
      if (span.count % 24 == 0) ++of_three;
    }
    if (complete == 0 || of_four != complete || of_three == complete) return;
    d_.settings.windows.bits_per_pixel = 32;
    d_.capture.notes.push_back("frames hold whole pixels of 32 bits but not of 24: four-colour pixels are assumed");
  }

  void judge_capture() {
    const FitnessInput input{.capture = &capture_,
                             .channel = far_.channel,
                             .samples = far_.samples,
                             .states = far_.logic ? nullptr : &far_.states,
                             .transitions = far_.transitions,
                             .rising = far_.logic ? nullptr : &far_.rising,
                             .falling = far_.logic ? nullptr : &far_.falling,
                             .stated = &settings_,
                             .used = &d_.settings};
    fitness_ = judge_fitness(input);
    acquit_a_ringing_line();
    if (far_.logic)
      seen_.no_voltages_because = "a logic capture holds no voltages";
    else if (far_.relative)
      seen_.no_voltages_because = "the file gives counts without a scale, so no voltages";
    else if (!fitness_.voltages)
      seen_.no_voltages_because = "the levels of this capture cannot be trusted";
    if (far_.logic)
      seen_.no_edges_because = "a logic capture does not show the shape of an edge";
    else if (!fitness_.edges)
      seen_.no_edges_because = "this capture does not resolve the edges";
    if (!fitness_.timing) seen_.no_timing_because = "the times of this capture cannot be trusted";
    seen_.widths_by_place_because = widths_moved_by_the_line(d_, seen_.interval);
    look_at_the_near_end();
    if (steps_at_the_controller(far_)) {
      seen_.not_as_received_because =
          "at the controller's end, behind the resistor, the line shows steps that no pixel sees";
    }
    for (const auto& flag : fitness_.flags) {
      if (flag.severity != Severity::prevents) d_.capture.notes.push_back(flag.text);
    }
    if (!windows_chosen() && seen_.is_pixel_data) d_.capture.notes.push_back("protocol " + seen_.protocol_why);
  }

  bool swings_beyond_both_rails() const { return swings_beyond_both_rails_by(0.2 * d_.settings.supply_v); }

  // By that much past both rails, a ring comes back through the middle: the square of the overshoot is half of the swing.
  bool swings_far_beyond_both_rails() const { return swings_beyond_both_rails_by(0.7 * d_.settings.supply_v); }

  bool swings_beyond_both_rails_by(double beyond_v) const {
    const auto& levels = d_.levels;
    return levels.peak_max_v && levels.peak_min_v && *levels.peak_max_v > d_.settings.supply_v + beyond_v &&
           *levels.peak_min_v < -beyond_v;
  }

  // A ring that returns through the thresholds makes short pulses and shifts the levels: the capture is not to blame.
  void acquit_a_ringing_line() {
    if (far_.logic || !swings_beyond_both_rails()) return;
    const bool dense = 10 * capture_.sample_interval_s < d_.settings.windows.t0h.typical_s();
    std::erase_if(fitness_.flags, [&](const Flag& flag) {
      return flag.id == "ac-coupled" || (flag.id == "undersampled" && dense) || (flag.id == "inverted-capture" && seen_.garbled);
    });
    const bool prevented = std::any_of(fitness_.flags.begin(), fitness_.flags.end(),
                                       [](const Flag& flag) { return flag.severity == Severity::prevents; });
    if (!prevented) fitness_.voltages = fitness_.timing = fitness_.edges = true;
  }

  void look_at_the_near_end() {
    if (d_.settings.at != ProbePosition::near) return;
    if (far_.logic || !d_.levels.low_v || !d_.levels.peak_max_v) return;
    const double noise_v = d_.capture.noise_rms_v.value.value_or(0);
    seen_.near_step = near_step(d_.rising.response, *d_.levels.low_v, *d_.levels.peak_max_v - 2 * noise_v);
  }

  // Behind a series resistor the near end of a line carries the launched step until the far end's reflection is back.
  bool steps_at_the_controller(const Node& node) const {
    if (d_.settings.at != ProbePosition::near || node.logic) return false;
    const auto slow = [](const TransitionSummary& edge) {
      return edge.duration_10_90_s && *edge.duration_10_90_s > 60e-9;
    };
    const bool uneven = !node.rising.monotonic.value_or(true) || !node.falling.monotonic.value_or(true);
    return uneven || node.rising.recrossings + node.falling.recrossings > 0 || slow(node.rising) || slow(node.falling);
  }

  Measured velocity() const {
    const auto* cable = settings_.cable ? find_cable(*settings_.cable) : nullptr;
    if (cable == nullptr) return Measured::none("the cable is not stated");
    return Measured::of(1 / cable->delay_s_per_m,
                        cable->delay_u_s_per_m / (cable->delay_s_per_m * cable->delay_s_per_m));
  }

  void find_ring() {
    if (far_.logic) {
      const auto none = Measured::none("a logic capture does not show the shape of an edge");
      d_.ringing.frequency_hz = d_.ringing.decay_ratio = d_.ringing.damping_ratio = d_.ringing.length_m = none;
      d_.ringing.probe_frequency_hz = d_.ringing.probe_amplitude_ratio = none;
      return;
    }
    const RingingContext context{.rising = &d_.rising.response,
                                 .falling = &d_.falling.response,
                                 .levels = &d_.levels,
                                 .noise_rms_v = far_.states.noise_rms_v.value.value_or(0),
                                 .adc_step_v = far_.states.adc_step_v.value.value_or(0),
                                 .sample_interval_s = far_.samples.sample_interval_s,
                                 .rising_10_90_s = d_.rising.duration_10_90_s.value.value_or(0),
                                 .falling_10_90_s = d_.falling.duration_10_90_s.value.value_or(0),
                                 .accuracy = Accuracy::of(settings_),
                                 .length_m = settings_.length_m,
                                 .velocity_m_per_s = velocity()};
    d_.ringing = find_ringing(context);
    seen_.probe_rings =
        d_.ringing.frequency_hz && d_.ringing.source == RingSource::probe &&
        std::max(d_.rising.overshoot_ratio.value.value_or(0), d_.falling.overshoot_ratio.value.value_or(0)) > 0.05;
  }

  void open_near_end() {
    if (near_capture_ == nullptr) return;
    Settings of_near = settings_;
    of_near.channel = settings_.near_channel;
    std::size_t channel = choose_channel(*near_capture_, of_near);
    const bool same_file =
        near_capture_ == &capture_ || (!capture_.sha256.empty() && near_capture_->sha256 == capture_.sha256);
    if (same_file && !settings_.near_channel) channel = other_channel(channel);
    if (same_file && channel == static_cast<std::size_t>(far_.channel - capture_.channels.data()))
      throw SettingsError("near and far end are the same channel of the same file");
    near_ = open_node(*near_capture_, channel, of_near);
    find_edges(near_, d_.settings.vil_v, d_.settings.vih_v);
    measure_edges(near_, of_near);
    near_pulses_ = extract_pulses(near_.transitions, seen_.active_low);
    classify(near_pulses_, width_shape(near_pulses_), d_.settings.windows);
    near_cutting_ =
        cut_frames(near_pulses_, d_.settings.windows, near_.start_s(), near_.end_s(), near_.interval.width.single_s);
    d_.near_far = compare_ends({&near_, near_pulses_, &near_cutting_, same_file},
                               {&far_, pulses_, &cutting_, same_file}, d_.settings.windows, d_.settings.vih_v);
  }

  // In a file with both ends: the channel beside the one judged as far end.
  std::size_t other_channel(std::size_t preferred) const {
    const auto far = static_cast<std::size_t>(far_.channel - capture_.channels.data());
    if (preferred != far) return preferred;
    return capture_.channels.size() > 1 ? (far == 0 ? 1 : 0) : far;
  }

  // None needs another, but the ring of a probe hides the line.
  void find_ring_and_line_and_draw() {
    std::string why_no_line = reason_against_a_fit();
    std::optional<FittedLine> line;
    importers::for_each_index(3, 2, [&](std::size_t part) {
      if (part == 0) find_ring();
      else if (part == 2) draw();
      else if (why_no_line.empty()) line = fit_line(far_, near_, d_, settings_);
    });
    if (seen_.probe_rings && why_no_line.empty()) why_no_line = "the ring of the probe hides the line";
    if (!why_no_line.empty()) return leave_line_open(why_no_line, d_);
    take_line(std::move(*line), d_);
  }

  std::string reason_against_a_fit() const {
    const bool prevented = std::any_of(fitness_.flags.begin(), fitness_.flags.end(),
                                       [](const Flag& flag) { return flag.severity == Severity::prevents; });
    if (const auto why = reason_against_a_line(far_); !why.empty()) return why;
    return prevented || !seen_.is_pixel_data ? "this capture is not fit to judge" : "";
  }

  void draw() {
    d_.figures.record = record_view(far_);
    d_.figures.folded = folded_bits(far_, pulses_, d_.settings.windows, seen_.shape.period_s);
  }

  // Where the line dwells on steps behind the resistor, the highest state that is found is none that the line rests in, and no
  // threshold finds the bits.
  void withhold_what_the_place_hides() {
    const auto& levels = d_.levels;
    if (!steps_at_the_controller(far_) || !levels.high_v || !levels.peak_max_v || !levels.amplitude_v) return;
    if (*levels.peak_max_v - *levels.high_v < 0.12 * *levels.amplitude_v || swings_beyond_both_rails()) return;
    const auto none = Measured::none("behind the resistor the line dwells on steps: no state settles within a bit, and no threshold finds the bits");
    for (Measured* figure : {&d_.levels.high_v, &d_.levels.amplitude_v, &d_.levels.high_drift_v, &d_.levels.low_drift_v,
                             &d_.levels.high_plateau_min_v, &d_.levels.high_plateau_max_v, &d_.levels.low_plateau_max_v})
      *figure = none;
    for (TransitionSummary* edge : {&d_.rising, &d_.falling})
      for (Measured* figure : {&edge->duration_10_90_s, &edge->duration_20_80_s, &edge->duration_10_90_corrected_s, &edge->slew_v_per_s,
                               &edge->overshoot_ratio, &edge->undershoot_ratio, &edge->preshoot_ratio, &edge->overshoot_max_ratio, &edge->settling_s})
        *figure = none;
    d_.capture.samples_on_edge = none;
    d_.pulses = no_pulses(none.missing);
    d_.frames = {};
    d_.frames.rate_hz = none;
  }

  void decide_all() {
    withhold_what_the_place_hides();
    d_.checks = run_checks(d_, seen_);
    conclude(d_, seen_, fitness_);
    align_suggestion(d_);
    if (d_.near_far.present) conclude_place(d_.near_far, d_);
    withhold_what_the_range_cuts_off();
  }

  // Where the record ends with the range of the instrument, an overshoot is a lower bound: enough to conclude from, no figure.
  void withhold_what_the_range_cuts_off() {
    const bool high = d_.capture.clipped_high > 0, low = d_.capture.clipped_low > 0;
    const auto bound = [](Measured& figure) {
      if (figure) figure = Measured::none("at least " + phrases::ratio_percent(*figure) + ": cut off at the end of the instrument's range");
    };
    if (high) bound(d_.rising.overshoot_ratio), bound(d_.rising.overshoot_max_ratio);
    if (low) bound(d_.falling.overshoot_ratio), bound(d_.falling.overshoot_max_ratio);
    for (Cause& cause : d_.verdict.causes)
      if (const auto seen = cause.evidence.find("overshoot_ratio"); (high || low) && seen != cause.evidence.end()) bound(seen->second);
  }

  const importers::Capture& capture_;
  const Settings& settings_;
  const importers::Capture* near_capture_;
  Diagnosis d_;
  Observations seen_;
  Fitness fitness_;
  Node far_, near_;
  std::vector<BitPulse> pulses_, near_pulses_;
  FrameCutting cutting_, near_cutting_;
};

}  // namespace

Diagnosis diagnose(const importers::Capture& capture, const Settings& settings, const importers::Capture* near) {
  return Session(capture, settings, near).run();
}

}  // namespace pulsewright::analyzer
