// Clearance: how far a placed cut keeps from the skin, as an allowance is kept: by how much all its
// facets could be moved outward before one of them meets it. Where a facet faces the skin this is
// the distance; beside an edge of the cut it is somewhat less.
#pragma once

#include <string>

#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/fit/obstacles.h"
#include "core/stone/rough.h"

namespace macle {

struct Clearance {
    // Right to kClearanceWithin_mm. Below zero: by how much all facets must be moved inward for the
    // cut to be free.
    double clear_mm = 0.0;
    // It pokes out by more than half the distance of its nearest facet from its middle: then
    // clear_mm says only that, and there is no facet.
    bool deeper = false;
    Eigen::Vector3d point_mm = Eigen::Vector3d::Zero();  // of the skin, where it is nearest
    std::string facet;
};

inline constexpr double kClearanceWithin_mm = 1e-8;

// A rough's skin as obstacle, without any defect.
Obstacles skinAlone(const Rough& rough, Progress* progress = nullptr);

// `skin` as skinAlone makes it. Throws what Gauge throws; Error{BadUsage} for a size that is not
// above zero or a skin with defects. Pure; any thread.
Clearance clearanceOf(const Obstacles& skin, const Design& design, const Placement& placement);

}  // namespace macle
