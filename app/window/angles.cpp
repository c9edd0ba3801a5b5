#include "app/window/angles.h"

#include <cmath>

#include "core/base/tolerance.h"
#include "core/base/units.h"

namespace macle::app {
namespace {

double wrapped_deg(double angle) {
    const double turn = std::fmod(angle, 360.0);
    return turn < 0.0 ? turn + 360.0 : turn;
}

Eigen::Quaterniond about(const Eigen::Vector3d& axis, double angle_deg) {
    return Eigen::Quaterniond(Eigen::AngleAxisd(radians(angle_deg), axis));
}

}  // namespace

PoseAngles anglesOf(const Eigen::Quaterniond& rotation) {
    const Eigen::Quaterniond q = rotation.normalized();
    // For q = Rz(a) Ry(t) Rz(s - a): z and w give the half sum, x and y the half difference.
    const double sineHalfTilt = std::hypot(q.x(), q.y());
    const double cosineHalfTilt = std::hypot(q.z(), q.w());
    PoseAngles angles;
    angles.tilt_deg = degrees(2.0 * std::atan2(sineHalfTilt, cosineHalfTilt));
    if (cosineHalfTilt > tolerance::kWeldRelative)
        angles.spin_deg = wrapped_deg(degrees(2.0 * std::atan2(q.z(), q.w())));
    if (sineHalfTilt > tolerance::kWeldRelative) {
        // x = -sin(t/2) sin(a - s/2), y = sin(t/2) cos(a - s/2)
        const double lean = degrees(std::atan2(-q.x(), q.y()));
        const double half =
            degrees(cosineHalfTilt > tolerance::kWeldRelative ? std::atan2(q.z(), q.w()) : 0.0);
        angles.azimuth_deg = wrapped_deg(lean + half);
    }
    return angles;
}

Eigen::Quaterniond rotationOf(const PoseAngles& angles) {
    return (about(Eigen::Vector3d::UnitZ(), angles.azimuth_deg) *
            about(Eigen::Vector3d::UnitY(), angles.tilt_deg) *
            about(Eigen::Vector3d::UnitZ(), angles.spin_deg - angles.azimuth_deg))
        .normalized();
}

double turnBetween_deg(const Eigen::Quaterniond& a, const Eigen::Quaterniond& b) {
    return degrees(a.angularDistance(b));
}

}  // namespace macle::app
