// A ray outside the stone that meets a face: its mirrored part and the part that goes in, with
// their Stokes vectors. Private to light.
#pragma once

#include <Eigen/Core>
#include <cstdint>

namespace macle::light {

struct Stokes {
    double i = 1.0, q = 0.0, u = 0.0, v = 0.0;  // see ray_batch.h
};

struct OutsideRay {
    Eigen::Vector3d origin;
    Eigen::Vector3d direction;
    Stokes light;
    Eigen::Vector3d axis = Eigen::Vector3d::Zero();  // s axis of `light`; any when unpolarised
    double path = 0.0;
    std::int32_t hits = 0;
    std::uint32_t id = 0;
};

struct SplitLight {
    Stokes thrownBack, goesIn;
    Eigen::Vector3d backDirection, inDirection;
    Eigen::Vector3d axis;  // of both
};

// `normal` outward, against the direction.
SplitLight splitAtFace(const OutsideRay& ray, const Eigen::Vector3d& normal, double index);

}  // namespace macle::light
