// FacetMeets: the raw intersection of half-spaces n.x <= d around the origin, one meet per three
// facets, before meets that coincide are taken for one vertex. It is the dual of the convex hull of
// the points n/d (CGAL, exact predicates). Private to core/solid.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "core/cut/design.h"

namespace macle {

struct FacetMeet {
    Eigen::Vector3d point;
    double sharpness;  // determinant of the unit normals: how well the three planes fix the point
};

struct FacetMeets {
    std::vector<FacetMeet> meets;
    std::vector<std::vector<int>> faces;  // per facet, its meets counter-clockwise from outside
    double reach = 0.0;                   // farthest meet from the origin
};

// Needs unit normals and d > 0. Throws Error{NoSolution} when the intersection is unbounded.
FacetMeets facetMeets(const std::vector<Facet>& facets);

}  // namespace macle
