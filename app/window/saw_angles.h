// The numbers and words by which the window names the plane of a saw: tilt of its normal from +z
// and azimuth from +x towards +y, both of the stone frame, and the way a beam runs in it. Pure
// functions.
#pragma once

#include <QString>
#include <optional>
#include <vector>

#include "core/divide/saw.h"

namespace macle::app {

struct SawAngles {
    double azimuth_deg = 0.0;
    double tilt_deg = 0.0;
};

SawAngles anglesOf(const Eigen::Vector3d& normal);
Eigen::Vector3d normalOf(const SawAngles& angles);

// Between two planes, 0..90 deg, whichever way their normals point.
double betweenPlanes_deg(const Eigen::Vector3d& normal, const Eigen::Vector3d& other);

// Turns the plane about the point of it nearest to `pivot_mm`; a beam stays at its angle.
void turnSaw(Saw& saw, const Eigen::Vector3d& normal, const Eigen::Vector3d& pivot_mm);

// In the plane, from its level direction towards the one that rises.
Eigen::Vector3d beamAt(const Eigen::Vector3d& normal, double angle_deg);
double beamAngle_deg(const Eigen::Vector3d& normal, const Eigen::Vector3d& beam);

// "cube plane 2"; `planes` as from sawableDirections.
QString planeName(const std::vector<SawableDirection>& planes, std::size_t index);
// That, or "any plane".
QString planeWords(const Saw& saw, const std::optional<CrystalAxes>& axes);

}  // namespace macle::app
