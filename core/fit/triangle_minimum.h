// Exact minimum, over one triangle, of the largest of many linear functions. Private to fit.
//
// A linear programme in two barycentric coordinates and the value, solved by the dual simplex
// method: every basis is a proven lower bound that only rises, so the search can stop as soon as
// the triangle cannot beat the best one known.
#pragma once

#include <Eigen/Geometry>
#include <cstddef>

#include "core/fit/facet_scan.h"

namespace macle {

struct TriangleMinimum {
    bool beaten = false;  // the minimum is above `stop`; value and q are not set
    double value = 0.0;
    Eigen::Vector3d q = Eigen::Vector3d::Zero();
    // Of the shares the facets have in holding it: slope . q + offset is no larger than the largest
    // facet value anywhere, and as large as the value reached here.
    Eigen::Vector3d slope = Eigen::Vector3d::Zero();
    double offset = 0.0;
};

// Facets outside `mask` must lie below the others all over the triangle. `corners` relative to the
// centre. Values above `stop` need not be exact.
TriangleMinimum minimumOverTriangle(const FacetDoubles* facets, const BlockLayout& layout,
                                    BlockMask mask, const Eigen::Vector3d (&corners)[3],
                                    double stop);

}  // namespace macle
