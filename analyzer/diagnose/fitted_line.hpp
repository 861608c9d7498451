#pragma once
// From the captured ends to the line of a diagnosis, with the near end where that helps.

#include <string>

#include "analyzer/diagnose/node.hpp"
#include "analyzer/line/line_analysis.hpp"

namespace pulsewright::analyzer {

struct FittedLine {
  LineOutcome outcome;
  bool together = false;  ///< with the near end
  std::string alone_because;
};

/// Why no line can be fitted to this node; empty where one can.
std::string reason_against_a_line(const Node& node);

/// Fits the far end, and both ends together where `diagnosis.near_far` has one and the two agree. Reads settings, levels and near_far
/// of the diagnosis.
FittedLine fit_line(const Node& far, const Node& near, const Diagnosis& diagnosis, const Settings& stated);

/// Writes the fit into line, suggestion, near_far and, where no ring was found, its arrivals.
void take_line(FittedLine fitted, Diagnosis& diagnosis);

/// Every figure of the line and the suggestion say why they are missing.
void leave_line_open(const std::string& why, Diagnosis& diagnosis);

}  // namespace pulsewright::analyzer
