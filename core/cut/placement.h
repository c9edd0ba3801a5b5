// Placement: where a design sits in the stone. x_stone = rotation * (size * x_cut) + translation.
#pragma once

#include <Eigen/Geometry>

namespace macle {

struct Placement {
    Eigen::Quaterniond rotation = Eigen::Quaterniond::Identity();
    Eigen::Vector3d translation_mm = Eigen::Vector3d::Zero();
    double size_mm = 1.0;  // mean girdle diameter or width

    bool operator==(const Placement& other) const {
        return rotation.coeffs() == other.rotation.coeffs() &&
               translation_mm == other.translation_mm && size_mm == other.size_mm;
    }
};

}  // namespace macle
