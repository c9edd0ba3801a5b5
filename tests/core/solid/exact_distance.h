// The judge of distances: CGAL's quadratic programme over exact numbers, independent of Wolfe's
// method in core/solid/separation.h.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace macle::judge {

// Of the convex hulls of two sets of points; 0 where they meet.
double distance_mm(const std::vector<Eigen::Vector3d>& first,
                   const std::vector<Eigen::Vector3d>& second);

}  // namespace macle::judge
