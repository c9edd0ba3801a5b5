// ConvexSolid: the verified intersection of facet half-spaces n.x <= d around the origin. It is cut
// out by one plane after the other (PlaneClip) where that proves itself; else it is the dual of the
// convex hull of the points n/d (ExactSolid: CGAL's convex_hull_3 with exact predicates, the same
// construction as its halfspace_intersection_with_constructions_3, but each hull point keeps the
// index of its facet). Verified means: closed, Euler 2, every facet plane satisfied by every
// vertex, coincident vertices merged, each facet that bounds the solid kept with its index, and the
// volume found by two ways. Anything else is an Error, never a solid with a wrong weight. Thread
// contract: pure functions.
#pragma once

#include <Eigen/Core>
#include <string>
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

// For size 1, cut frame. A facet that touches the solid in an edge or a point only, or repeats an
// earlier one, bounds nothing and has no face; see vanishedFacets. Throws Error{BadInput} for a
// plane that is not finite or whose normal is not of length 1, Error{NoSolution} when the planes
// leave the solid unbounded or the origin is not strictly inside, Error{Internal} (failed
// verification).
ConvexSolid makeSolid(const ConvexPart& part);

// The names of the facets that bound no part's solid, in the order of the design: a very thin
// girdle has no flat at its valleys, and a facet cut off by its neighbours is lost. Errors of
// makeSolid.
std::vector<std::string> vanishedFacets(const Design& design);

// The same solid at a placement: stone frame, mm. O(vertices); no CGAL. Throws Error{BadUsage} for
// a size that is not positive or a rotation that is not of length 1.
ConvexSolid placed(const ConvexSolid& solid, const Placement& placement);

// Fan triangulation; corner-exact.
TriangleMesh triangulated(const ConvexSolid& solid);

// Volume of the union of a design's parts for size 1 (inclusion and exclusion: the intersection of
// convex parts is the part with all their facets). mm3 at size 1. Errors of makeSolid, and
// Error{BadUsage} without parts or with more than 10 (the work doubles with each).
double designVolume(const Design& design);

// A union's surface as one closed mesh for size 1 is not offered yet: parts are drawn separately.

}  // namespace macle
