// Cells of the search: boxes of rotations, boxes of centres, and what has been decided in them.
// Private to fit.
//
// Every rotation is F A(x, y) Rz(spin): F is the identity or a half turn about x; A is the least
// turn that takes z to a direction, with quaternion (1, x, y, 0) up to length, x^2 + y^2 <= 1;
// spin runs over one part of the design's symmetry.
#pragma once

#include <Eigen/Geometry>
#include <array>
#include <vector>

#include "core/fit/bound_shape.h"

namespace macle {

struct RotationCell {
    bool flipped = false;
    Eigen::Vector3d low = Eigen::Vector3d::Zero();  // x, y, spin (radians)
    Eigen::Vector3d high = Eigen::Vector3d::Zero();

    Eigen::Vector3d centre() const { return 0.5 * (low + high); }
    Eigen::Quaterniond base() const;  // F A at the centre, without spin
    // Every rotation of the cell is base() R(r) Rz(spin at the centre) with the Rodrigues vector r
    // (axis times tan of the half angle) in the convex hull of these.
    std::array<Eigen::Vector3d, 8> rodriguesCorners() const;
};

// Cells that cover all rotations, up to the symmetry.
std::vector<RotationCell> coverRotations(const DesignSymmetry& symmetry);

// At a surface point, at least one of these facets of the part stays short of the point.
struct PointChoice {
    Eigen::Vector3d point;  // scaled, stone frame
    int part = 0;
    std::vector<int> facets;
    double margin = 0.0;   // scaled; kept from the point beside the allowance
    bool decided = false;  // facets were dropped by branching, not only by proof in this cell
};

struct HullPair {
    int plane;
    int part;
    int vertex;
};

struct BoundCell {
    RotationCell rotation;
    Eigen::Vector3d centreLow;  // box of centres, scaled, stone frame
    Eigen::Vector3d centreHigh;
    double bound = 0.0;                // no placement in the cell is larger, scaled
    bool crowded = false;              // surface points inside the hull mattered in a larger cell
    std::vector<HullPair> pairs;       // a start for the linear programme
    std::vector<PointChoice> choices;  // hold for every placement of the cell
};

}  // namespace macle
