// Directions in which a crystal suggests to lay the table, to begin a search with.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "core/stone/stone.h"

namespace macle {

// Outward, unit, stone frame: parallel to the cube faces (four-point), then the octahedron faces
// (three-point), then the dodecahedron faces (two-point); none when the axes are not known. The
// order is the trade's (common practice, no source): four-point sawables give the most.
std::vector<Eigen::Vector3d> crystalTables(const Stone& stone);

}  // namespace macle
