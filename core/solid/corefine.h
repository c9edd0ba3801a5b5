// Intersection of two closed meshes by corefinement (CGAL Polygon_mesh_processing, exact
// predicates). Slow (a second or two for 200 k triangles); the independent second way behind
// RoughCutter, taken when the fast way does not verify.
// Thread contract: pure function.
#pragma once

#include "core/stone/mesh.h"

namespace macle {

// Both closed, outward, free of self-intersections. Empty when they share no volume.
// Throws Error{Internal} when corefinement does not succeed.
TriangleMesh intersectByCorefinement(const TriangleMesh& first, const TriangleMesh& second);

}  // namespace macle
