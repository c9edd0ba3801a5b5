// What core/appraise/comparison.h finds, as the table of differences and the chart show it.
// Pure functions; any thread.
#pragma once

#include "app/window/candidate_plot.h"
#include "app/window/difference_table.h"
#include "core/appraise/comparison.h"

namespace macle::app {

// A row whose cells are words over a rank is on the clarity scale.
std::vector<ShownRow> shownRows(const Comparison& comparison);

struct ChartContent {
    std::vector<ShownFigure> figures;
    std::vector<ChartCandidate> candidates;
};

// All rows as figures, so that minutes, cost and light can be charted too. Every candidate is a
// layout until the caller says otherwise.
ChartContent chartOf(const Comparison& comparison);

// Weight, recovery, value, clarity, chroma and number of stones: also of candidates that are not
// compared in full.
ChartContent chartOf(const std::vector<CandidatePoint>& points);

}  // namespace macle::app
