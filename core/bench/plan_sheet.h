// PlanSheet: the content of the plan sheet, complete and in order, before any drawing.
// Lengths mm, angles degrees; numbers in texts always with a decimal point.
#pragma once

#include <array>
#include <string>
#include <utility>
#include <vector>

#include "core/appraise/appraisal.h"
#include "core/bench/facet_rows.h"
#include "core/fit/search.h"

namespace macle {

// A view along an axis of the cut frame, mm, origin on the stone's axis at mid-girdle.
// Table: x to the right, y up. Culet: the stone turned over about x. Side: x to the right, z up.
// End (only when length and width differ): y to the right, z up. Edges between two girdle flats
// are left out of the side views, and hidden edges that fall on visible ones everywhere.
// Of a design of several parts each part's own edges are given.
struct SheetView {
    std::string title;  // "From the table", "From the culet", "From the side", "From the end"
    std::vector<std::array<Eigen::Vector2d, 2>> visibleEdges;
    std::vector<std::array<Eigen::Vector2d, 2>> hiddenEdges;
    std::vector<std::vector<Eigen::Vector2d>> roughOutline;  // closed loops, see outline.h
    std::vector<std::vector<Eigen::Vector2d>> defectOutlines;
    double width_mm = 0.0;  // of the design, horizontally and vertically
    double height_mm = 0.0;
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
    std::string cutTitle;
    std::string date;  // ISO 8601
    std::string hash;  // see layoutHash
    Appraisal appraisal;
    std::vector<std::pair<std::string, std::string>> figures;  // label, value with unit
    std::vector<std::pair<std::string, std::string>> proportions;
    std::vector<FacetRow> facets;           // working order
    std::vector<std::string> workingOrder;  // the same order in words
    std::vector<FitLimit> limits;
    std::string referenceFace;  // what it is and how to find it
    std::vector<std::string> cautions;
    std::vector<SheetView> views;
};

struct SheetRequest {
    std::string layoutName = "Layout 1";
    std::string date;  // empty: today
    std::vector<FitLimit> limits;
    double allowance_mm = 0.0;
    SheetState state;
};

// The identity of a layout: SHA-256, in hexadecimal, over a canonical text of everything that
// decides it (skin, material and density, defects with their margins, cut with all its proportions,
// placement, allowance). Names of stone and layout and the date do not enter.
std::string layoutHash(const Stone& stone, const Design& design, const Placement& placement,
                       double allowance_mm);

// `cutter` must be made from stone.rough. Throws what appraise throws; Error{BadInput} for a
// placement that is not finite or has no size. Pure; any thread.
PlanSheet makePlanSheet(const Stone& stone, const RoughCutter& cutter, const Design& design,
                        const Placement& placement, const SheetRequest& request);

}  // namespace macle
