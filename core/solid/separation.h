// Separation: the least distance of two convex bodies and the plane that parts them farthest, by
// the nearest point of their difference to the origin (P. Wolfe, Mathematical Programming 11 (1976)
// 128). What is returned is proven: the slab between the two bodies across `normal` is as wide as
// said. Stone frame, mm. Pure; any thread.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "core/cut/design.h"
#include "core/cut/placement.h"

namespace macle {

struct Separation {
    double distance_mm = 0.0;  // 0: they touch or overlap, and no plane parts them
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // unit, from the first to the second
    double offset_mm = 0.0;                             // of the middle of the slab along `normal`
    // Nearest points; a point they share where they touch or overlap.
    Eigen::Vector3d first_mm = Eigen::Vector3d::Zero();
    Eigen::Vector3d second_mm = Eigen::Vector3d::Zero();
};

// Of the convex hulls of two sets of points, neither empty. Throws Error{Internal} for an empty one
// or for points that are not finite.
Separation separationOf(const std::vector<Eigen::Vector3d>& first,
                        const std::vector<Eigen::Vector3d>& second);

// Of two placed cuts: the least over their parts. Throws what makeSolid and placed throw.
Separation separationOf(const Design& first, const Placement& placedFirst, const Design& second,
                        const Placement& placedSecond);

// The corners of each part of a placed cut. Throws what makeSolid and placed throw.
std::vector<std::vector<Eigen::Vector3d>> placedCorners(const Design& design,
                                                        const Placement& placement);

// How far a set of points reaches along a direction.
double reachOf(const std::vector<Eigen::Vector3d>& points, const Eigen::Vector3d& direction);

}  // namespace macle
