#pragma once
// The figures of the reports as SVG text: real text, direct labels, nothing but what the diagnosis carries.
//
// Every element has presentation attributes, so that a figure stands alone on white (rsvg, print); a page may restyle the
// classes. Text from the capture is escaped. No ids, no style attributes, no script, no reference to the outside.

#include <cstddef>
#include <string>
#include <vector>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports::figures {

struct Size {
  int width = 520, height = 300;
};

/// `svg` is one complete <svg> element, or empty: then `missing` says in plain words why there is no figure.
struct Figure {
  std::string svg;
  std::string caption;  ///< one sentence, plain text, not escaped
  std::string missing;
};

enum class Edge { rising, falling };
enum class Bit { zero, one };

/// The whole record, smallest and largest value of each column.
Figure record(const analyzer::Diagnosis& diagnosis, Size size = {});

/// Bits laid over each other on the rising 50 % instant, with VIL and VIH and the datasheet's windows of the falling edge.
Figure folded_bits(const analyzer::Diagnosis& diagnosis, Size size = {});

/// One edge in equivalent time with its 10, 50 and 90 % marks and spread.
Figure edge(const analyzer::Diagnosis& diagnosis, Edge which, Size size = {});

/// One of the edges that the line was fitted to, the model over it, the residual above.
Figure fitted_edge(const analyzer::Diagnosis& diagnosis, Edge which, Size size = {});

/// High times of the zeros or ones, with the datasheet's window and the distance to its nearer side.
Figure width_histogram(const analyzer::Diagnosis& diagnosis, Bit which, Size size = {});

/// Spectrum of what follows the edge, the ringing frequency marked.
Figure ringing_spectrum(const analyzer::Diagnosis& diagnosis, Size size = {});

/// The rising edge with the instants at which a reflection arrives or should arrive.
Figure arrivals(const analyzer::Diagnosis& diagnosis, Size size = {});

/// The rising edge now, and as predicted with the suggested resistor, with its 95 % band and VIL, VIH.
Figure prediction(const analyzer::Diagnosis& diagnosis, Size size = {});

/// The predicted rising edge of one candidate.
Figure candidate_waveform(const analyzer::Diagnosis& diagnosis, const analyzer::Candidate& candidate, Size size = {});

/// Smallest normalised margin over all candidates, the acceptable range and the fitted and suggested values marked.
Figure margin_curve(const analyzer::Diagnosis& diagnosis, Size size = {});

/// A resistor with its colour bands (IEC 60062), each band named below it. `label` e.g. "68 ohm".
Figure resistor(const std::vector<std::string>& colour_bands, const std::string& label, Size size = {260, 96});

}  // namespace pulsewright::reports::figures
