// Crown edge: the part of a cut above its girdle and beside its table, where facets and setting
// hide what lies in it. Everything else is what a defect that may stay under the crown edge must
// keep out of.
#pragma once

#include "core/cut/design.h"

namespace macle {

// Convex parts, each with the origin strictly inside, that together are the design without its
// crown edge: each part below the top of the girdle, and each part within the upright prism over
// each table. Added planes are named "top of the girdle" and "edge of the table". Where the girdle
// ends less than kLeastEdgeHeight above its middle (a knife edge) the plane lies at that height,
// and a table's edge that passes nearer to the axis than that is moved out to it: what must stay
// clear is never made smaller. A cut without a table has its whole crown for an edge.
// Cut frame, size 1. Throws what prepareDesign throws. Pure; any thread.
Design withoutCrownEdge(const Design& design);

inline constexpr double kLeastEdgeHeight = 0.005;  // of the size

}  // namespace macle
