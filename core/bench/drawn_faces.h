// Drawn faces: a design's surface as it is drawn and listed: the faces of one solid, or of the
// outer surface of several parts. Cut frame, mm. Pure; any thread. Private to core/bench.
#pragma once

#include <vector>

#include "core/cut/design.h"
#include "core/solid/convex_solid.h"

namespace macle {

struct DrawnFace {
    const Facet* facet;  // of the design
    std::vector<Eigen::Vector3d> corners;
};

// The parts as solids in mm. Throws what makeSolid throws.
std::vector<ConvexSolid> solidsInCutFrame(const Design& design, double size_mm);
Box boundsOf(const std::vector<ConvexSolid>& solids);

std::vector<DrawnFace> drawnFaces(const Design& design, const std::vector<ConvexSolid>& solids,
                                  double size_mm);

}  // namespace macle
