// Placement: where a design sits in the stone. x_stone = rotation * (size * x_cut) + translation.
#pragma once

#include <Eigen/Geometry>

namespace macle {

struct Placement {
    Eigen::Quaterniond rotation = Eigen::Quaterniond::Identity();
    Eigen::Vector3d translation_mm = Eigen::Vector3d::Zero();
    double size_mm = 1.0;  // mean girdle diameter or width
};

}  // namespace macle
