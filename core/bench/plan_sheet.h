// PlanSheet: the content of the plan sheet, complete and in order, before any drawing.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "core/appraise/appraisal.h"
#include "core/fit/search.h"

namespace macle {

struct FacetRow {
    int step = 0;
    std::string facet;
    double angle_deg = 0.0;
    double azimuth_deg = 0.0;
    double centre_mm = 0.0;  // distance of the plane from the centre
    double fromTable_mm =
        0.0;  // vertical distance from the table plane to the facet's deepest corner
};

struct SheetView {
    std::string title;  // "From the table", "From the side", "From the culet"
    std::vector<std::array<Eigen::Vector2d, 2>> visibleEdges;  // mm, cut frame projected
    std::vector<std::array<Eigen::Vector2d, 2>> hiddenEdges;
    std::vector<std::vector<Eigen::Vector2d>> roughOutline;  // closed loops, good to 0.02 mm
    std::vector<std::vector<Eigen::Vector2d>> defectOutlines;
    double width_mm = 0.0;  // of the design, horizontally and vertically
    double height_mm = 0.0;
};

struct PlanSheet {
    std::string stoneName;
    std::string layoutName;
    std::string state;  // "draft"
    std::string cutTitle;
    std::string date;  // ISO 8601
    std::string hash;  // SHA-256 over the inputs that decide the layout, hexadecimal
    Appraisal appraisal;
    std::vector<std::pair<std::string, std::string>> figures;  // label, value with unit
    std::vector<std::pair<std::string, std::string>> proportions;
    std::vector<FacetRow> facets;  // working order
    std::vector<FitLimit> limits;
    std::string referenceFace;  // what it is and how to find it
    std::vector<std::string> cautions;
    std::vector<SheetView> views;
};

struct SheetRequest {
    std::string layoutName = "Layout 1";
    std::string date;  // empty: today
    std::vector<FitLimit> limits;
};

PlanSheet makePlanSheet(const Stone& stone, const RoughCutter& cutter, const Design& design,
                        const Placement& placement, const SheetRequest& request);

}  // namespace macle
