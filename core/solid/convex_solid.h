// ConvexSolid: the verified intersection of facet half-spaces (CGAL,
// halfspace_intersection_with_constructions_3). Verified means: closed, Euler 2, every facet plane
// satisfied by every vertex, coincident vertices merged, each facet that bounds the solid kept
// with its index. Anything else is an Error, never a solid with a wrong weight.
// Thread contract: pure functions.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/stone/mesh.h"

namespace macle {

struct SolidFace {
    int facet = 0;             // index into the part's facets
    std::vector<int> corners;  // indices of vertices, counter-clockwise from outside
    double area = 0.0;
};

struct ConvexSolid {
    std::vector<Eigen::Vector3d> vertices;
    std::vector<SolidFace> faces;  // one per facet that bounds the solid
    double volume = 0.0;           // units of the input, cubed
};

// For size 1, cut frame. Throws Error{NoSolution} (unbounded or empty), Error{Internal} (failed
// verification).
ConvexSolid makeSolid(const ConvexPart& part);

// The same solid at a placement: stone frame, mm. O(vertices); no CGAL.
ConvexSolid placed(const ConvexSolid& solid, const Placement& placement);

// Fan triangulation; corner-exact.
TriangleMesh triangulated(const ConvexSolid& solid);

// Volume of the union of a design's parts for size 1 (inclusion and exclusion). mm3 at size 1.
double designVolume(const Design& design);

// A union's surface as one closed mesh for size 1 is not offered yet: parts are drawn separately.

}  // namespace macle
