// Supporting planes of a point set, near to its convex hull from outside. Private to fit.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <vector>

namespace macle {

struct SupportPlane {
    Eigen::Vector3d normal;  // unit, outward
    double distance = 0.0;   // every point has normal.x <= distance, rounding included
};

// The planes of the hull's faces when there are at most `most` of them, else of a hull of chosen
// points that leaves out as little as it can. Whatever happens in the choice of directions, each
// plane is pushed out to hold every point: the planes are always a sound outside of the hull.
// Needs at least one point. Deterministic.
std::vector<SupportPlane> supportPlanes(const std::vector<Eigen::Vector3d>& points,
                                        std::size_t most);

}  // namespace macle
