// PlaneClip: a solid by cutting a box with one plane after the other, in plain arithmetic. Some ten
// times quicker than the exact dual hull of FacetMeets, and used wherever its result can prove
// itself. Private to core/solid.
//
// Planes that meet in a point by construction do so within a few last digits; planes that do not
// miss one another by far more. The result is given only when every corner clearly lies either on a
// plane or off it, with nothing between, when the faces close round the origin, and when each plane
// that has a face holds exactly its corners. Such a surface is the border of the intersection: no
// corner is outside any plane, and to leave it is to cross one. Everything else is left to the
// exact way.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "core/cut/design.h"

namespace macle {

struct ClippedSolid {
    std::vector<Eigen::Vector3d> vertices;
    std::vector<std::vector<int>> faces;  // per facet, counter-clockwise from outside; may be empty
    double reach = 0.0;                   // farthest vertex from the origin
};

// Needs unit normals and d > 0. Nothing when in doubt, and when the intersection is unbounded.
std::optional<ClippedSolid> clipByPlanes(const std::vector<Facet>& facets);

}  // namespace macle
