#pragma once

#include <Eigen/Core>

namespace macle::render {

// A straight line between two points. Stone frame, mm.
struct Segment {
    Eigen::Vector3d from;
    Eigen::Vector3d to;
};

}  // namespace macle::render
