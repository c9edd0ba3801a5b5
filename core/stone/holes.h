// Inside the intake: open rims of a surface, and closing them when that is asked for. Private to
// core/stone; other folders use intake.h.
#pragma once

#include <vector>

#include "core/base/progress.h"
#include "core/stone/rough.h"

namespace macle::skin {

// The middle of each open rim, at most 1000; vertices nearer than `weldRelative` of the extent are
// one.
std::vector<Eigen::Vector3d> openRims(const TriangleMesh& mesh, double weldRelative,
                                      Progress* progress);

// Welds, and fills every rim with triangles of least area (Liepa, "Filling holes in meshes", SGP
// 2003). Returns the line of the report. Throws Error{BadInput} for rims that touch one another or
// are too long.
Finding closeHoles(TriangleMesh& mesh, double weldRelative, Progress* progress);

}  // namespace macle::skin
