// ExactSolid: the solid from the dual hull of FacetMeets, whatever its planes: those that nearly
// share a line or a point, too. Meets nearer than the tolerance are taken for one vertex. Private
// to core/solid.
#pragma once

#include <vector>

#include "core/cut/design.h"
#include "core/solid/convex_solid.h"

namespace macle {

// Not yet verified as a whole; areas and volume of the solid are still to be set.
struct SolidDraft {
    ConvexSolid solid;
    double volume = 0.0;  // from planes and areas, before any vertex was moved
    double moved = 0.0;   // farthest any vertex was moved by merging
};

// Every vertex satisfies every plane within the tolerance. Needs unit normals and d > 0. Throws
// Error{NoSolution} when the intersection is unbounded or thinner than the tolerance.
SolidDraft exactSolid(const std::vector<Facet>& facets);

}  // namespace macle
