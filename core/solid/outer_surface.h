// The outer surface of a design of several parts as one closed mesh: what of each face lies outside
// the other parts, with the seams joined point to point. A design of one part is its own solid.
// Verified: closed, and it holds the design's volume. Thread contract: pure function.
#pragma once

#include "core/cut/design.h"
#include "core/stone/mesh.h"

namespace macle {

// Cut frame, mm. Throws what makeSolid throws, Error{Internal} when it does not verify.
TriangleMesh outerSurface(const Design& design, double size_mm = 1.0);

}  // namespace macle
