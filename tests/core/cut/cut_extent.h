// The box of a design, for size 1.
#pragma once

#include "core/cut/design.h"
#include "core/solid/convex_solid.h"
#include "core/stone/mesh.h"

namespace macle::test {

inline Box extentOf(const Design& design) {
    TriangleMesh points;
    for (const ConvexPart& part : design.parts) {
        const ConvexSolid solid = makeSolid(part);
        points.vertices.insert(points.vertices.end(), solid.vertices.begin(), solid.vertices.end());
    }
    return bounds(points);
}

}  // namespace macle::test
