#pragma once
// What a change did: diagnoses of the same run held against each other, figure by figure.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::analyzer {

enum class Change { better, worse, no_clear_change, not_comparable };

/// "better", "worse", "no-clear-change", "not-comparable"
std::string_view to_string(Change change);

/// One figure of two diagnoses.
struct Difference {
  std::string key;   ///< the key of the JSON contract, e.g. "rising.overshoot_ratio"
  std::string name;  ///< plain words
  std::string unit;  ///< "V", "s", "Hz", "ohm", "1"
  Measured before, after;
  Measured change;           ///< after - before; u is the root sum of squares of both
  bool significant = false;  ///< |change| > coverage factor * u
  std::optional<bool> better;  ///< for the receiver; missing where neither direction is better, or no significant change
};

/// Did the waveform come out as the earlier diagnosis said it would?
struct PredictionKept {
  bool present = false;
  std::string absent_because;   ///< set when not present
  double ohm = 0;               ///< resistor fitted now and predicted then
  Measured rms_error_v;         ///< measured minus predicted, over the common time of the rising edge
  Measured rms_error_ratio;     ///< of the amplitude
  Measured overshoot_error;     ///< measured minus predicted overshoot ratio
  Measured within_band_ratio;   ///< share of the points inside the predicted 95 % band
  bool within_band = false;     ///< at least 90 % of the points inside
  Waveform predicted;           ///< at the instants of `measured_v`
  std::vector<double> measured_v;
  std::string text;
};

/// Bits of one capture against the frame that was sent.
struct BitErrors {
  std::size_t frames = 0, bits = 0;    ///< compared
  std::size_t wrong = 0;
  std::size_t other_frames = 0;        ///< of other content or length, left out
  std::vector<BitDifference> places;   ///< the first 64
};

/// First and last capture bit by bit.
struct BitsCompared {
  enum class Relation {
    not_compared,   ///< no complete frame in one of them
    same_frame,     ///< the same frame was sent; differences are errors
    other_content,  ///< other frames were sent; no bit counts as wrong
    undecided       ///< nearly the same frame, and both captures have trouble with their bits
  };
  Relation relation = Relation::not_compared;
  BitErrors before, after;
  std::string text;
};

/// "not-compared", "same-frame", "other-content", "undecided"
std::string_view to_string(BitsCompared::Relation relation);

/// One capture of a series, best first.
struct Ranked {
  std::size_t index = 0;   ///< into Comparison::captures
  Outcome result = Outcome::cannot_tell;
  Measured margin;         ///< smallest normalised margin over the deciding checks; below 0 fails
  std::string margin_check;  ///< name of the check that gives it
};

struct Comparison {
  std::vector<std::string> labels;      ///< one a capture (untrusted text)
  std::vector<Diagnosis> captures;      ///< in the order given; two for before and after
  Change result = Change::not_comparable;  ///< last against first
  std::string headline;
  std::vector<std::string> reasons;     ///< why not comparable, or what decided
  double coverage_factor = 2;           ///< used for `significant`: 95 % over all figures together (Sidak)
  std::vector<Difference> differences;  ///< last against first
  PredictionKept prediction;
  BitsCompared bits;
  std::vector<Ranked> ranking;
  std::string series;                   ///< one sentence on more than two captures; empty for two
};

/// Smallest distance of a deciding check's value from its limits, in units of the window's half-width (two limits) or of
/// the limit itself (one limit), over all checks that have one; counts that must be zero have none, and a pause between frames that
/// suffices is left out, since no cable changes it. Missing when no such check was decided.
Ranked rank_capture(const Diagnosis& diagnosis, std::size_t index);

/// Holds two or more diagnoses made with the same settings against each other. Throws std::invalid_argument for fewer
/// than two captures or as many labels as captures.
Comparison compare(std::vector<Diagnosis> captures, std::vector<std::string> labels);

/// The coverage factor at which `figures` independent comparisons of nothing with nothing stay quiet, all together, with
/// 95 % probability (Sidak correction of the normal quantile; two-sided).
double family_coverage_factor(std::size_t figures);

}  // namespace pulsewright::analyzer
