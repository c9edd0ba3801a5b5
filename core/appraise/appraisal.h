// Appraisal: the figures that decide about a layout, each computed once, here.
#pragma once

#include <string>
#include <vector>

#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/solid/finished_stone.h"
#include "core/stone/stone.h"

namespace macle {

// A defect that is left inside the finished stone, wholly or in part.
struct DefectInside {
    std::string name;
    std::string kind;
    int severity = 0;
    double volume_mm3 = 0.0;  // of the part that lies inside (0 for a sheet)
    double largest_mm = 0.0;  // largest extent of its bounds, whole defect
    // Of its middle: "under the table", "under the crown", "at the girdle", "in the pavilion".
    std::string zone;
    double depth_mm = 0.0;   // shortest distance from its centre to a facet
    bool forbidden = false;  // by its policy it must not stay, or not there
};

// Weights by the trusted weight of the stone, see caratsOf.
struct Appraisal {
    double rough_ct = 0.0;
    double finished_ct = 0.0;
    double loss_ct = 0.0;           // rough - finished
    double loss_outside_ct = 0.0;   // material outside the design
    double loss_missing_ct = 0.0;   // not a loss of rough: design weight that the rough lacks
    double recovery_percent = 0.0;  // finished / rough
    bool inside = true;             // the design lies wholly inside the rough
    double naturals_mm2 = 0.0;
    std::vector<DefectInside> defects;  // most severe first
    std::string clarity;                // a sentence; a planning estimate, not a grading report
};

// `cutter` must be made from stone.rough. Pure; any thread.
Appraisal appraise(const Stone& stone, const RoughCutter& cutter, const Design& design,
                   const Placement& placement);

}  // namespace macle
