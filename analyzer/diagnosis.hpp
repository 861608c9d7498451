#pragma once
// The result of `diagnose`: the one contract between the analyzer and every report.
// SI units; `Measured` where a figure can be missing. Reports render this and compute nothing.

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analyzer/measured.hpp"
#include "analyzer/protocol/windows.hpp"
#include "analyzer/settings.hpp"

namespace pulsewright::analyzer {

enum class Outcome { pass, marginal, fail, cannot_tell };

/// "pass", "marginal", "fail", "cannot-tell"
std::string_view to_string(Outcome outcome);

// ---- the capture and whether it is fit to judge -------------------------------------------------

struct CaptureFacts {
  std::string file, sha256, format, dialect, channel, unit;
  std::vector<std::string> channels;
  std::size_t samples = 0;
  double sample_interval_s = 0, sample_interval_u_s = 0;
  std::string sample_interval_rule;
  double start_s = 0, span_s = 0;
  bool logic = false;           ///< timing only: no voltage can be judged
  bool relative_levels = false; ///< counts without a scale: voltages are fractions of the swing, not volts
  Measured adc_step_v, noise_rms_v;
  std::size_t clipped_low = 0, clipped_high = 0;  ///< samples on a rail of the converter
  Measured samples_on_edge;     ///< on the typical 10-90 % transition
  std::vector<std::string> notes;
};

/// The settings as used, with the default or inferred value where the user stated none.
struct SettingsUsed {
  TimingWindows windows;
  bool protocol_stated = false;
  double supply_v = 5, vih_v = 3.5, vil_v = 1.5;
  bool supply_stated = false;
  Measured series_ohm, driver_ohm;
  std::string cable;          ///< id, empty when not stated
  Measured length_m;
  ProbePosition at = ProbePosition::far;
  Measured bandwidth_hz;      ///< stated, or missing
  double probe_factor = 10;
  bool inverted = false;
  std::string title;
};

// ---- levels and transitions ------------------------------------------------------------------------

struct Levels {
  Measured low_v, high_v, amplitude_v;    ///< state levels (IEEE Std 181)
  Measured high_drift_v;                  ///< high level of the last pulse of a frame minus that of its first
  Measured low_drift_v;
  Measured high_plateau_min_v;            ///< lowest settled high of any pulse
  Measured low_plateau_max_v;             ///< highest settled low between pulses
  Measured high_plateau_max_v;            ///< highest settled high of any pulse
  Measured low_rest_wander_v;             ///< range of the low level in pauses, where neither bits nor the line move it
  Measured peak_max_v, peak_min_v;        ///< extremes of the record
};

/// One edge as it would look on a scope that samples far faster: all transitions aligned on their 50 % instant.
struct EdgeResponse {
  std::vector<double> t_s;     ///< bin centres, 0 at the 50 % instant
  std::vector<double> v;       ///< median of the bin
  std::vector<double> sd_v;    ///< spread of the bin
  std::vector<double> samples; ///< how many stand behind the value; bins between those that samples fell into share them
  double bin_s = 0;
  std::size_t transitions = 0; ///< how many edges went in
  bool empty() const { return t_s.empty(); }
};

struct TransitionSummary {
  std::size_t count = 0;
  Measured duration_10_90_s, duration_20_80_s;
  Measured duration_10_90_corrected_s;    ///< without the stated bandwidth (root sum of squares)
  Measured slew_v_per_s;                  ///< at the 50 % instant
  Measured overshoot_ratio, undershoot_ratio, preshoot_ratio;  ///< of the amplitude, typical transition
  Measured overshoot_max_ratio;
  Measured settling_s;                    ///< 50 % instant to last entry into +-5 % of the final state
  std::size_t recrossings = 0;            ///< transitions that crossed a receiver threshold back after the edge
  std::optional<bool> monotonic;          ///< between VIL and VIH
  EdgeResponse response;
};

// ---- pulses as the receiver sees them -----------------------------------------------------------------

struct Histogram {
  double first_s = 0, bin_s = 0;  ///< left edge of the first bin, width of each
  std::vector<std::size_t> counts;
};

struct WidthStatistics {
  std::size_t count = 0;
  Measured mean_s, sd_s, min_s, max_s;     ///< at the mid reference level
  Measured at_vil_mean_s, at_vih_mean_s;   ///< between crossings of VIL and of VIH: the receiver's threshold lies between
  Measured at_vil_max_s, at_vih_min_s;     ///< widest at VIL, narrowest at VIH
  Histogram histogram;
};

struct PulseClass {
  std::size_t count = 0;
  WidthStatistics high_width, low_width;
};

struct PulseSummary {
  PulseClass zero, one;
  WidthStatistics period;
  std::size_t undecided = 0;             ///< pulses in neither class
  std::size_t out_of_window = 0;         ///< pulses whose high time lies outside its window
  Measured latch_gap_min_s;              ///< shortest gap taken as a latch
  Measured longest_pause_in_frame_s;
  Measured high_after_long_low_shift_s;  ///< intersymbol interference: width of a 1 after a 0 minus after a 1
  Measured first_after_idle_shift_s;     ///< width of the first pulse of a frame against the rest of its class
  Measured width_drift_s;                ///< mean width at frame end minus at its start, per class averaged
};

struct Frame {
  double start_s = 0;
  std::size_t bits = 0, pixels = 0, leftover_bits = 0;
  std::string hex;                 ///< whole bytes, MSB first
  std::size_t differing_bits = 0;  ///< against the most common frame of the same length
  std::optional<std::size_t> first_difference;  ///< bit index, counted from 0
  bool cut = false;                ///< the record begins or ends inside this frame
};

struct FrameSummary {
  std::size_t count = 0;
  std::vector<Frame> frames;       ///< the first 64
  std::size_t differing_bits = 0;  ///< over all complete frames
  Measured rate_hz;
  bool all_alike = true;
};

// ---- ringing, line, suggestion --------------------------------------------------------------------------

enum class RingSource { line, probe, unknown };

struct Ringing {
  Measured frequency_hz;
  Measured decay_ratio;    ///< amplitude after one period over before it
  Measured damping_ratio;
  RingSource source = RingSource::unknown;
  std::string source_why;
  Measured length_m;       ///< cable length from the ring where the velocity is known
  Measured probe_frequency_hz;     ///< of a ring of the probe beside that of the line
  Measured probe_amplitude_ratio;  ///< its first swing, of the amplitude of the signal
  std::vector<double> spectrum_hz, spectrum_v;  ///< for the figure
  std::vector<double> arrivals_s;               ///< expected or found arrivals after the edge
};

/// What the fit found, and what it could not.
struct LineFit {
  bool fitted = false;
  std::string why_not;                  ///< set when not fitted
  Measured z0_ohm, delay_s, source_ohm; ///< source_ohm: driver plus series resistor
  Measured driver_ohm;                  ///< source minus the fitted resistor
  Measured source_ratio;                ///< (driver + series) / Z0
  Measured load_f, loss_db, edge_s;
  Measured rms_residual_v;
  std::vector<std::string> determined, assumed, doubts;
  std::vector<double> t_s, measured_v, model_v;  ///< for the figure: rising edge, measured and model
  std::vector<double> falling_t_s, falling_measured_v, falling_model_v;
};

struct Waveform {
  std::vector<double> t_s, v, band_v;   ///< band_v: half-width of the 95 % band
};

struct Candidate {
  double ohm = 0;
  Measured margin;                      ///< smallest normalised margin over the criteria; above 0 passes
  Measured overshoot_ratio, undershoot_ratio, duration_10_90_s, high_margin_v, low_margin_v;
  Measured high_width_zero_s, high_width_one_s;
  Outcome outcome = Outcome::cannot_tell;
  std::string limited_by;               ///< plain words: which criterion gives the margin
  Waveform waveform;                    ///< decimated rising edge at the pixel, in service (no probe)
  Waveform as_probed;                   ///< the same edge as this probe and scope would show it: what a second capture
                                        ///< is held against; t_s is 0 at the 50 % instant
};

enum class Action { keep, change_series_resistor, add_buffer, shift_level, fix_ground, fix_source_timing, change_cable, recapture };

/// "keep", "change-series-resistor", ...
std::string_view to_string(Action action);

struct Suggestion {
  Action action = Action::recapture;
  Measured series_ohm_now, series_ohm;
  std::optional<double> acceptable_low_ohm, acceptable_high_ohm;
  std::vector<std::string> colour_bands;  ///< IEC 60062, 5 % four-band part
  double confidence = 0;                  ///< 0..1
  std::optional<Candidate> predicted;     ///< for series_ohm
  std::vector<Candidate> candidates;      ///< ascending; the margin curve
  std::string method;                     ///< "line model" or "closed form of the open-ended line"
  std::vector<std::string> assumptions;
  std::string text;                       ///< plain words, one to three sentences
};

// ---- verdict ------------------------------------------------------------------------------------------------

/// One question: value, uncertainty, limits, guard-banded decision (JCGM 106, ILAC-G8).
struct Check {
  std::string id;        ///< e.g. "high-level", "t0h", "recrossing"
  std::string name;      ///< plain words
  Outcome result = Outcome::cannot_tell;
  Measured value;        ///< u is the standard uncertainty; decisions use U = 2 u
  std::optional<double> limit_low, limit_high;
  std::string unit;      ///< "V", "s", "1"
  std::string source;    ///< where the limit comes from
  std::string text;      ///< one sentence
  bool advisory = false; ///< shown, but does not decide the verdict (softer limits, measured chip behaviour)
};

struct Cause {
  std::string id;        ///< design section 4, e.g. "underdamped-source"
  double confidence = 0; ///< 0..1
  std::string text;      ///< what is wrong, plain words
  std::map<std::string, Measured> evidence;  ///< key with unit, e.g. "overshoot_ratio"
  std::string refuted_by;                    ///< what would show that this is not the cause
  std::string action;    ///< what to do
};

struct Verdict {
  Outcome result = Outcome::cannot_tell;
  std::string headline;
  std::vector<Cause> causes;  ///< ranked, most likely first; "none" when all is well
  std::vector<std::string> recapture_advice;  ///< settings for a better capture
};

// ---- figures -----------------------------------------------------------------------------------------------------

/// The record thinned to the smallest and largest value of each of at most 4000 columns.
struct RecordView {
  double start_s = 0, column_s = 0;
  std::vector<float> min_v, max_v;
};

/// Short stretches of samples on a common time axis, 0 at the rising 50 % instant.
struct FoldedBits {
  struct Trace {
    bool one = false;
    std::vector<float> t_s, v;
  };
  std::vector<Trace> traces;   ///< at most 200, spread over the record; odd ones preferred
  double span_s = 0;
};

struct Figures {
  RecordView record;
  FoldedBits folded;
};

/// One bit in which two captures of the same frame differ.
struct BitDifference {
  std::size_t frame = 0;      ///< among the frames of the record it was found in, counted from 0
  std::size_t bit = 0;        ///< within the frame, counted from 0
  std::size_t pixel = 0;      ///< counted from 0
  unsigned channel = 0;       ///< byte within the pixel in the order sent, counted from 0; which colour it is depends on the chip
  unsigned channel_bit = 0;   ///< 7 is the most significant
  bool expected = false, found = false;
};

/// Where a fault of the far end is made.
enum class FaultPlace { none, controller, way, unclear };

/// "none", "controller", "way", "unclear"
std::string_view to_string(FaultPlace place);

/// Near and far end of the same run.
struct NearFar {
  bool present = false;
  std::string near_file;
  Measured delay_s, loss_db, edge_growth_s;
  Measured width_change_zero_s, width_change_one_s;  ///< mean high time at the far end minus that at the near end
  Measured high_change_v, low_change_v;              ///< settled levels, far minus near
  std::size_t compared_bits = 0, differing_bits = 0;
  std::size_t lost_pulses = 0, added_pulses = 0;     ///< same record: pulses of one end without a partner at the other
  std::optional<std::size_t> first_difference;       ///< bit within its frame
  std::vector<BitDifference> differences;            ///< the first 64; expected is the near end's bit
  std::string alignment;  ///< "same record", "by bit pattern", "separate frames"
  FaultPlace made_at = FaultPlace::unclear;
  bool fitted_together = false;  ///< the line was fitted to both ends
  std::string fitted_alone_because;
  std::string text;
  std::optional<EdgeResponse> near_rising, far_rising;
};

// ---- all of it ------------------------------------------------------------------------------------------------------

struct Diagnosis {
  CaptureFacts capture;
  SettingsUsed settings;
  Verdict verdict;
  std::vector<Check> checks;
  Levels levels;
  TransitionSummary rising, falling;
  PulseSummary pulses;
  FrameSummary frames;
  Ringing ringing;
  LineFit line;
  Suggestion suggestion;
  NearFar near_far;
  Figures figures;
};

}  // namespace pulsewright::analyzer
