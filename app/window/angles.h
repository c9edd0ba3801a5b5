// The three numbers by which the window names a rotation:
//   tilt     0..180 deg, between the axis of the cut (through the table) and +z of the stone frame
//   azimuth  0..360 deg, direction the table leans to, in the xy plane of the stone frame, from +x
//            towards +y
//   spin     0..360 deg, turn of the cut about its own axis
// rotation = Rz(azimuth) * Ry(tilt) * Rz(spin - azimuth), so that for small tilts the spin is the
// whole turn and the azimuth only says which way it leans. Pure functions.
#pragma once

#include <Eigen/Geometry>

namespace macle::app {

struct PoseAngles {
    double tilt_deg = 0.0;
    double azimuth_deg = 0.0;
    double spin_deg = 0.0;
};

PoseAngles anglesOf(const Eigen::Quaterniond& rotation);
Eigen::Quaterniond rotationOf(const PoseAngles& angles);

// Angle between two rotations. Degrees.
double turnBetween_deg(const Eigen::Quaterniond& a, const Eigen::Quaterniond& b);

}  // namespace macle::app
