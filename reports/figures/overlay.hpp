#pragma once
// Edges of several captures in one scale.

#include "analyzer/compare.hpp"
#include "reports/figures/figures.hpp"

namespace pulsewright::reports::figures {

/// The edge of every capture aligned on its 50 % instant, in one scale: of two, before dashed and after solid; of a series the
/// worst dashed, the best solid, the others thin.
Figure edges_overlaid(const analyzer::Comparison& comparison, Edge which, Size size = {});

/// The rising edge as predicted by the first diagnosis with its band, and as the last capture shows it.
Figure prediction_kept(const analyzer::Comparison& comparison, Size size = {});

/// Smallest margin of every capture, best first, as bars from zero. As high as its rows need, whatever `size` says.
Figure ranking(const analyzer::Comparison& comparison, Size size = {});
int ranking_height(const analyzer::Comparison& comparison);

}  // namespace pulsewright::reports::figures
