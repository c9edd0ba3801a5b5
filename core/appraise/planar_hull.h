// Convex hull of points in the plane. Pure; any thread.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace macle {

// Corners counter-clockwise, no three in a line (Andrew's monotone chain). Fewer than three points
// come back as they are, sorted.
std::vector<Eigen::Vector2d> planarHull(std::vector<Eigen::Vector2d> points);

// Round the hull; twice the length of a segment.
double hullLength(const std::vector<Eigen::Vector2d>& hull);

// The two corners farthest apart.
double hullWidest(const std::vector<Eigen::Vector2d>& hull);

}  // namespace macle
