// Demo stones of an invented scenario, made by computation so that nothing real is copied.
#pragma once

#include "core/stone/stone.h"

namespace macle {

// An irregular, non-convex rough of about 19 ct with three defect clusters, with about `triangles`
// triangles. Deterministic.
Stone sampleStone(int triangles = 60000);

// A regular octahedron with its corners on the axes, refined to 8 * 4^refinement triangles.
Stone octahedronStone(double edge_mm, int refinement = 0);

}  // namespace macle
