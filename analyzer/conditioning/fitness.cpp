#include "analyzer/conditioning/fitness.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>

#include "analyzer/protocol/classify.hpp"
#include "analyzer/verdict/phrases.hpp"

namespace pulsewright::analyzer {

namespace {

// Fewer samples than this on the shortest pulse: neither its width nor its plateau can be judged; fewer than twice that:
// its edges cannot (common practice, no source).
constexpr double least_samples_on_pulse = 5;
constexpr double rails_v[] = {3.3, 5, 12, 24};
constexpr std::size_t few_pulses = 16;
// Half of the usual tolerance of +-150 ns in datasheets of 800 kbit/s chips.
constexpr double usual_tolerance_s = 150e-9;

class Judge {
 public:
  explicit Judge(const FitnessInput& input) : in_(input), interval_s_(input.capture->sample_interval_s) {}

  Fitness all() {
    if (in_.states) {
      look_at_voltages();
    } else {
      look_at_logic();
    }
    if (has_data_) polarity();
    number_of_edges();
    std::stable_sort(out_.flags.begin(), out_.flags.end(), [](const Flag& a, const Flag& b) {
      return a.severity != b.severity ? a.severity > b.severity : a.confidence > b.confidence;
    });
    return std::move(out_);
  }

 private:
  void look_at_voltages() {
    relative_levels();
    if (!in_.states->two_states || is_rail() || only_dithers()) {
      one_level();
      return;
    }
    factor_of_ten();
    clipping();
    sampling();
    bandwidth();
    coarse_steps();
    noise();
    coupling();
  }

  Flag& add(std::string id, Severity severity, double confidence, std::string text) {
    out_.flags.push_back({.id = std::move(id), .severity = severity, .confidence = confidence, .text = std::move(text), .refuted_by = {}, .advice = {}, .evidence = {}});
    return out_.flags.back();
  }

  const Levels& levels() const { return in_.states->levels; }
  double amplitude_v() const { return *levels().amplitude_v; }

  // Of the times between transitions; 0 without any.
  double interval_quantile_s(std::size_t part, std::size_t of) const {
    std::vector<double> widths;
    for (std::size_t i = 1; i < in_.transitions.size(); ++i) widths.push_back(in_.transitions[i].mid_s - in_.transitions[i - 1].mid_s);
    if (widths.empty()) return 0;
    const auto rank = widths.begin() + static_cast<std::ptrdiff_t>(widths.size() * part / of);
    std::nth_element(widths.begin(), rank, widths.end());
    return *rank;
  }

  // Tenth percentile: the shortest pulses without the odd glitch. Where the median has samples in plenty, what is shorter than
  // a quarter of it are remains of pulses on a line that does not settle, not pulses that the clock missed.
  double shortest_pulse_s() const {
    const double tenth_s = interval_quantile_s(1, 10), median_s = interval_quantile_s(1, 2);
    const bool dense = median_s > 8 * least_samples_on_pulse * interval_s_;
    return dense ? std::max(tenth_s, median_s / 4) : tenth_s;
  }

  // ---- what the record shows at all ----------------------------------------------------------

  double middle_v() const {
    if (!in_.states->two_states) return levels().low_v.value.value_or(0);
    return in_.states->low_share * *levels().low_v + (1 - in_.states->low_share) * *levels().high_v;
  }

  double nearest_rail_v() const {
    return *std::min_element(std::begin(rails_v), std::end(rails_v), [v = middle_v()](double a, double b) { return std::abs(std::log(v / a)) < std::abs(std::log(v / b)); });
  }

  // A supply: near a usual voltage, and what moves on it is small.
  bool is_rail() const {
    if (is_relative() || !levels().peak_min_v || !levels().peak_max_v || !(middle_v() > 1)) return false;
    const double ripple_v = *levels().peak_max_v - *levels().peak_min_v;
    return std::abs(middle_v() / nearest_rail_v() - 1) < 0.12 && ripple_v < 0.35 * middle_v() && *levels().peak_min_v > 0.7 * middle_v();
  }

  // Less than a tenth of any logic's swing, to and fro with the samples: noise across a boundary of two codes.
  bool only_dithers() const {
    return !is_relative() && amplitude_v() < 0.25 && interval_quantile_s(1, 2) < 4 * interval_s_;
  }

  void one_level() {
    has_data_ = false;
    out_.voltages = out_.timing = out_.edges = false;
    if (is_rail()) {
      const double ripple_v = *levels().peak_max_v - *levels().peak_min_v;
      auto& flag = add("power-rail", Severity::prevents, 0.85,
                       "The line stands at " + phrases::volts(middle_v()) + " with " + phrases::volts(ripple_v) +
                           " of ripple and never goes low: this looks like a supply, not like data.");
      flag.refuted_by = "data pulses at the same point while the controller is sending";
      flag.advice = "Put the probe tip on the data input of the pixel and its ground clip on the pixel's ground, then capture while the controller sends.";
      flag.evidence = {{"level_v", levels().low_v}, {"ripple_v", Measured::of(ripple_v)}};
      return;
    }
    auto& flag = add("flat-line", Severity::prevents, 0.9, "There are no data in the record: " + in_.states->one_state_because + ".");
    if (in_.states->two_states) flag.text = "There are no data in the record: the line hardly moves.";
    flag.refuted_by = "transitions on another channel, or after a longer wait for the trigger";
    flag.advice = "Check probe, channel and ground clip, trigger on a rising edge at about 1.5 V while the controller sends, and set 1 V to 2 V per division.";
    flag.evidence = {{"level_v", levels().low_v}};
  }

  void factor_of_ten() {
    if (is_relative()) return;
    const double a = amplitude_v();
    const bool tenth = a > 0.27 && a < 0.6, tenfold = a > 27 && a < 60;
    if (!tenth && !tenfold) return;
    out_.voltages = false;
    auto& flag = add("probe-factor", Severity::prevents, 0.9,
                     "The data swing by " + phrases::volts(a) + ", " + (tenth ? "a tenth of" : "ten times") +
                         " what logic does: the probe's factor and the scope's setting for it differ.");
    flag.refuted_by = "a multimeter on the supply of the driver showing such a voltage";
    flag.advice = std::string("Set the channel's probe factor to that of the probe (10x for a 10:1 probe), or state --multiply ") + (tenth ? "10." : "0.1.");
    flag.evidence = {{"amplitude_v", levels().amplitude_v}};
  }

  // ---- converter ---------------------------------------------------------------------------------

  void clipping() {
    const auto& s = *in_.states;
    if (s.clipped_high + s.clipped_low == 0) return;
    const double near_v = 0.06 * amplitude_v();
    const bool high_level = s.clipped_high > 0 && *levels().peak_max_v - *levels().high_v < near_v;
    const bool low_level = s.clipped_low > 0 && *levels().low_v - *levels().peak_min_v < near_v;
    const bool level = high_level || low_level;
    std::string ends = s.clipped_high > 0 ? "top" : "bottom";
    if (s.clipped_high > 0 && s.clipped_low > 0) ends = "top and bottom";
    auto& flag = add("clipped-capture", level ? Severity::prevents : Severity::limits, 0.9,
                     "The trace runs into the " + ends + " of the scope's range at " + phrases::volts(s.clipped_high > 0 ? *levels().peak_max_v : *levels().peak_min_v) +
                         (level ? ": the level of the line is not in the record." : ": how far it swings past its level is not in the record."));
    if (level) out_.voltages = false;
    out_.edges = out_.edges && !level;
    const double top_v = std::max(*levels().peak_max_v, *levels().high_v + 0.8 * amplitude_v());
    const double bottom_v = std::min(*levels().peak_min_v, *levels().low_v - 0.8 * amplitude_v());
    flag.refuted_by = "the same flat tops with twice the volts per division: then clamp diodes conduct";
    flag.advice = "Set the range to take in " + phrases::volts(bottom_v) + " to " + phrases::volts(top_v) + ": about " + phrases::volts((top_v - bottom_v) / 8) + " per division.";
    flag.evidence = {{"clipped_high", Measured::of(static_cast<double>(s.clipped_high))}, {"clipped_low", Measured::of(static_cast<double>(s.clipped_low))}};
  }

  void coarse_steps() {
    const auto& step = in_.states->adc_step_v;
    if (!step || *step < amplitude_v() / 40) return;
    const bool useless = *step > amplitude_v() / 10;
    if (useless) out_.voltages = out_.edges = false;
    auto& flag = add("coarse-steps", Severity::limits, 0.9, "One step of the converter is " + phrases::volts(*step) + ", " + phrases::ratio_percent(*step / amplitude_v()) + " of the swing.");
    flag.refuted_by = "finer steps in the original record: the file may have been rounded";
    flag.advice = "Let the swing fill most of the screen: about " + phrases::volts(amplitude_v() / 4) + " per division.";
    flag.evidence = {{"adc_step_v", step}};
  }

  void noise() {
    const auto& rms = in_.states->noise_rms_v;
    if (!rms || *rms < 0.03 * amplitude_v()) return;
    auto& flag = add("noisy", Severity::limits, 0.8, "Noise of " + phrases::volts(*rms) + " rms rides on settled stretches, " + phrases::ratio_percent(*rms / amplitude_v()) + " of the swing.");
    flag.refuted_by = "the noise staying with the probe's tip on its own ground: then it is the instrument's";
    flag.advice = "Use a 10:1 probe with a ground lead of a few centimetres at the pixel; average nothing, so that real disturbances stay visible.";
    flag.evidence = {{"noise_rms_v", rms}};
  }

  // ---- time and bandwidth -----------------------------------------------------------------------------

  // Edges longer than that pulse, with samples in plenty on them: the line cuts it so short, not the clock.
  bool cut_by_slow_edges(double pulse_s) const {
    double edge_s = 0;
    for (const auto* edge : {in_.rising, in_.falling})
      if (edge) edge_s = std::max(edge_s, edge->duration_10_90_s.value.value_or(0));
    return edge_s > 2 * pulse_s && edge_s > 4 * least_samples_on_pulse * interval_s_;
  }

  void sampling() {
    const double pulse_s = shortest_pulse_s(), samples = pulse_s / interval_s_;
    if (pulse_s <= 0 || cut_by_slow_edges(pulse_s)) return;
    const double rate = samples_a_second_for(pulse_s);
    const std::string sampled = "The sample clock of " + phrases::megahertz(1 / interval_s_) + " leaves ";
    if (samples < 2 * least_samples_on_pulse) {
      const bool lost = samples < least_samples_on_pulse;
      auto& flag = add("undersampled", lost ? Severity::prevents : Severity::limits, lost ? 0.95 : 0.8,
                       sampled + phrases::count(static_cast<std::size_t>(samples), "sample", "samples") + " on the shortest pulse of " + phrases::seconds(pulse_s) +
                           (lost ? ": neither its width nor its level can be judged." : ": its edges and rings cannot be judged."));
      out_.edges = false;
      if (lost) out_.timing = out_.voltages = false;
      flag.refuted_by = "the same widths at a higher sample rate";
      flag.advice = "Sample at " + phrases::megahertz(rate).replace(phrases::megahertz(rate).find(" MHz"), 4, " MS/s") + " or more: fewer frames in the record, and a shorter time span.";
      flag.evidence = {{"sample_interval_s", Measured::of(interval_s_)}, {"samples_on_shortest_pulse", Measured::of(samples)}};
      return;
    }
    if (in_.rising && !in_.rising->duration_10_90_s && in_.rising->duration_10_90_s.missing.starts_with("at most")) {
      auto& flag = add("edge-unresolved", Severity::note, 0.9, "Duration of the rising edge: " + in_.rising->duration_10_90_s.missing + ".");
      flag.advice = "Sample faster if the duration of the edges matters.";
    }
  }

  static double samples_a_second_for(double pulse_s) {
    const double wanted = 40 / std::min(pulse_s, 400e-9);
    for (const double rate : {25e6, 50e6, 100e6, 250e6, 500e6})
      if (rate >= wanted) return rate;
    return 1e9;
  }

  void bandwidth() {
    const bool stated = in_.stated && in_.stated->bandwidth_hz;
    const bool straight = in_.stated && in_.stated->probe_factor && *in_.stated->probe_factor == 1;
    if (!stated && !straight) return;
    // A 1:1 probe has about 100 pF and 6 to 10 MHz (common practice, no source).
    const double bandwidth_hz = stated ? *in_.stated->bandwidth_hz : 8e6;
    const double system_s = 0.35 / bandwidth_hz;
    const double pulse_s = shortest_pulse_s();
    const auto duration_s = in_.rising ? in_.rising->duration_10_90_s : Measured{};
    if (!duration_s || *duration_s > 1.41 * system_s) return;
    // An instrument this slow hides rings and lengthens what a receiver would see.
    const bool hides = stated && system_s > 0.06 * pulse_s;
    auto& flag = add("bandwidth-limited", hides ? Severity::prevents : Severity::limits, stated ? 0.9 : 0.6,
                     "The edges of " + phrases::seconds(*duration_s) + " are those of the instrument: " + phrases::megahertz(bandwidth_hz) +
                         (stated ? "" : " (usual for a 1:1 probe)") + " cannot show less than " + phrases::seconds(system_s) + ".");
    if (hides || straight) out_.edges = false;
    flag.refuted_by = "the same edges with ten times the bandwidth";
    flag.advice = "Use a 10:1 probe, switch off the scope's bandwidth limit, and take an instrument of " + phrases::megahertz(std::max(100e6, 5 * 0.35 / *duration_s)) + " or more.";
    flag.evidence = {{"duration_10_90_s", duration_s}, {"system_duration_s", Measured::of(system_s)}};
  }

  // ---- coupling, polarity, number ------------------------------------------------------------------------

  // A blocked mean: the states lie about 0 V in inverse proportion to the time spent in them.
  void coupling() {
    if (is_relative()) return;
    const double low_v = *levels().low_v, high_v = *levels().high_v, share = in_.states->low_share;
    const double mean_v = share * low_v + (1 - share) * high_v;
    const double surely_below_v = -0.02 * amplitude_v() - 3 * in_.states->low_u_v;
    if (low_v > surely_below_v || high_v < 0.12 * amplitude_v() || std::abs(mean_v) > std::min(0.06 * amplitude_v(), -0.25 * low_v)) return;
    out_.voltages = false;
    // A small shift may as well be one of the ground that happens to leave no mean.
    const bool plain = low_v < -0.12 * amplitude_v();
    auto& flag = add("ac-coupled", Severity::prevents, plain ? 0.85 : 0.45, "The record averages to 0 V with its low state at " + phrases::volts(low_v) + ": the input was coupled through a capacitor.");
    flag.refuted_by = "a multimeter showing a negative mean voltage on the line";
    flag.advice = "Set the scope's input to DC coupling.";
    flag.evidence = {{"low_v", levels().low_v}, {"mean_v", Measured::of(mean_v)}};
  }

  void polarity() {
    if (in_.transitions.size() < 8 || !in_.used) return;
    const double start_s = in_.capture->start_s;
    const auto idle = idle_state(in_.transitions, start_s, start_s + in_.capture->span_s);
    if (idle == IdleState::unknown) return;
    const bool expected_high = in_.used->windows.inverted;
    if ((idle == IdleState::high) == expected_high) return;
    auto& flag = add("inverted-capture", Severity::prevents, 0.9,
                     std::string("The line rests ") + (expected_high ? "low" : "high") + " between the frames, but " + in_.used->windows.chip + " rests " +
                         (expected_high ? "high" : "low") + ": the capture or the signal is upside down.");
    flag.refuted_by = "a chip that rests at this level: state it with --protocol";
    flag.advice = "Switch off the channel's invert setting and check that the ground clip is on ground, or use --invert when the capture is known to be upside down.";
    if (in_.states) flag.evidence = {{"low_v", levels().low_v}, {"high_v", levels().high_v}};
  }

  void number_of_edges() {
    const std::size_t pulses = in_.transitions.size() / 2;
    if (in_.states && (!in_.states->two_states || !out_.timing)) return;
    if (pulses >= few_pulses) return;
    const bool none = pulses < 2;
    auto& flag = add(in_.states || pulses ? "few-edges" : "flat-line", none ? Severity::prevents : Severity::limits, 0.9,
                     none ? std::string("There are no data in the record: fewer than two pulses.") : "Only " + phrases::count(pulses, "pulse is", "pulses are") + " in the record.");
    if (none) out_.timing = out_.edges = false;
    flag.refuted_by = "more pulses in a longer record";
    flag.advice = "Capture at least two whole frames with the pause between them: a span of some milliseconds.";
    flag.evidence = {{"pulses", Measured::of(static_cast<double>(pulses))}};
  }

  bool is_relative() const { return in_.channel->kind == importers::ChannelKind::counts; }

  void relative_levels() {
    if (!is_relative()) return;
    out_.voltages = false;
    auto& flag = add("relative-levels", Severity::limits, 1, "The file gives numbers without a scale in volts.");
    flag.refuted_by = "a scale stated with --full-scale or in the file";
    flag.advice = "State the volts at full scale, or export in volts.";
  }

  // ---- logic captures ----------------------------------------------------------------------------------

  void look_at_logic() {
    out_.voltages = out_.edges = false;
    auto& flag = add("logic-only", Severity::note, 1, "A logic capture carries timing only: levels, edges and rings stay unknown.");
    flag.advice = "Capture the same point with an oscilloscope at 100 MS/s or more.";
    const double expanded_s = 2 * interval_s_ / std::sqrt(6.0);
    if (expanded_s < 0.5 * usual_tolerance_s || interval_s_ <= 0) return;
    const bool lost = expanded_s > usual_tolerance_s;
    if (lost) out_.timing = false;
    auto& coarse = add("undersampled", lost ? Severity::prevents : Severity::limits, 0.9,
                       "The time grid of " + phrases::seconds(interval_s_) + " makes every width uncertain by " + phrases::seconds(expanded_s) + " (k = 2).");
    coarse.refuted_by = "the same widths at a higher sample rate";
    coarse.advice = "Set the logic analyser to 24 MS/s at least, better 100 MS/s.";
    coarse.evidence = {{"sample_interval_s", Measured::of(interval_s_)}, {"width_expanded_u_s", Measured::of(expanded_s)}};
  }

  const FitnessInput& in_;
  double interval_s_;
  Fitness out_;
  bool has_data_ = true;
};

}  // namespace

const Flag* Fitness::find(std::string_view id) const {
  const auto found = std::find_if(flags.begin(), flags.end(), [&](const Flag& flag) { return flag.id == id; });
  return found == flags.end() ? nullptr : &*found;
}

Fitness judge_fitness(const FitnessInput& input) { return Judge(input).all(); }

}  // namespace pulsewright::analyzer
