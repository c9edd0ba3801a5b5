// PlanSheet: the content of the plan sheet of a whole layout, complete and in order, before any
// drawing. Lengths mm, angles degrees, weights ct; numbers in texts always with a decimal point.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/appraise/layout_appraisal.h"
#include "core/bench/facet_rows.h"
#include "core/bench/layout_hash.h"
#include "core/bench/sheet_view.h"
#include "core/bench/working_order.h"
#include "core/fit/search.h"

namespace macle {

using SheetFigures = std::vector<std::pair<std::string, std::string>>;  // label, value with unit

// What the finished stone may differ by from the plan. Common practice, no source: edit them to
// what the works keeps.
struct SheetTolerances {
    double angle_deg = 0.2;   // of each angle and azimuth, more or less
    double length_mm = 0.02;  // of each length, more or less
};

// A defect of the stone, and when it goes.
struct DefectRemoved {
    std::string name;
    std::string kind;
    int severity = 0;
    int step = 0;       // number of the step after which it is gone; 0: not by a single step
    std::string words;  // "with step 5, Girdle"
};

// One stone of the layout, in its piece.
struct SheetStone {
    std::string name;  // "Stone 1"
    int piece = 0;
    std::string cut;
    std::string cutTitle;
    Placement placement;
    double allowance_mm = 0.0;
    double piece_ct = 0.0;
    Appraisal appraisal;
    SheetFigures figures;
    SheetFigures proportions;
    std::vector<std::string> changes;  // of facets, by hand
    std::vector<FacetRow> facets;      // working order
    std::vector<FitLimit> limits;
    std::vector<DefectRemoved> removed;      // those that stay stand in the appraisal
    std::vector<std::string> referenceFace;  // what it is and how to find it, a line each
    std::vector<FigureLine> lines;           // value, time, light and so on; none without inputs
    std::string toleranceWorth;  // what the tolerances are worth in weight, or why not told
    std::vector<SheetView> views;
};

struct SheetSaw {
    int number = 0;  // from 1
    Saw saw;
    double entering_ct = 0.0;
    double kerf_ct = 0.0;
    int newPiece = 0;  // its place in the list of pieces, from 0
};

struct SheetStep {
    BenchStep step;
    std::vector<SheetView> views;  // none where nothing is taken off
};

// Whether the layout was approved, and the record of it.
struct SheetState {
    std::string state = "draft";  // "approved" and "replaced" only from an approval on record
    std::string by;
    std::string at_utc;
    std::string note;
    std::string record;  // SHA-256 of the approval's snapshot
};

struct PlanSheet {
    std::string stoneName;
    std::string layoutName;
    SheetState state;
    std::string date;  // ISO 8601
    std::string hash;  // see layoutHash
    SheetFigures figures;
    double rough_ct = 0.0;
    double finished_ct = 0.0;
    double kerf_ct = 0.0;
    double leftOver_ct = 0.0;
    double outside_ct = 0.0;  // taken off the pieces that become stones
    double recovery_percent = 0.0;
    std::vector<SheetStone> stones;
    std::vector<SheetSaw> saws;
    std::vector<SheetStep> steps;
    std::optional<double> minutes;
    std::string minutesMissing;
    std::string grainMissing;
    std::vector<FigureLine> lines;  // of the whole layout; none without inputs
    SheetTolerances tolerances;
    std::vector<std::string> open;  // what is not in order yet
    std::vector<std::string> cautions;
    std::vector<SheetView> overview;

    double loss_ct() const { return rough_ct - finished_ct; }
};

struct SheetRequest {
    std::string date;  // empty: today
    SheetState state;
    SheetTolerances tolerances;
    // With them the sheet also tells value, time, light and what the tolerances are worth, which
    // takes seconds for each stone.
    std::optional<AppraisalInputs> inputs;
};

// `cutter` must be made from stone.rough. Throws Error{BadInput} for a placement that is not finite
// or has no size, Error{BadUsage} for tolerances below zero; what weighWhole, orderWork and
// appraiseLayout throw; Error{Cancelled}. Any thread.
PlanSheet makePlanSheet(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                        const SheetRequest& request, Progress* progress = nullptr);

}  // namespace macle
