#include "app/window/saw_angles.h"

#include <QObject>
#include <algorithm>
#include <cmath>

#include "core/base/units.h"

namespace macle::app {
namespace {

using Eigen::Vector3d;

constexpr double kSamePlane_deg = 1e-6;

// Of the plane: level, and rising at a right angle to it. A level plane has x and y.
std::pair<Vector3d, Vector3d> across(const Vector3d& normal) {
    Vector3d level = Vector3d::UnitZ().cross(normal);
    level = level.norm() > 1e-9 ? level.normalized() : Vector3d::UnitX();
    return {level, normal.cross(level)};
}

}  // namespace

SawAngles anglesOf(const Vector3d& normal) {
    SawAngles angles;
    const double flat = std::hypot(normal.x(), normal.y());
    angles.tilt_deg = degrees(std::atan2(flat, normal.z()));
    if (flat > 1e-12) angles.azimuth_deg = degrees(std::atan2(normal.y(), normal.x()));
    if (angles.azimuth_deg < 0.0) angles.azimuth_deg += 360.0;
    return angles;
}

Vector3d normalOf(const SawAngles& angles) {
    const double tilt = radians(angles.tilt_deg), azimuth = radians(angles.azimuth_deg);
    return {std::sin(tilt) * std::cos(azimuth), std::sin(tilt) * std::sin(azimuth), std::cos(tilt)};
}

double betweenPlanes_deg(const Vector3d& normal, const Vector3d& other) {
    return degrees(std::atan2(normal.cross(other).norm(), std::abs(normal.dot(other))));
}

void turnSaw(Saw& saw, const Vector3d& normal, const Vector3d& pivot_mm) {
    const double beam_deg = saw.v ? beamAngle_deg(saw.normal, saw.v->beam) : 0.0;
    const Vector3d foot = pivot_mm + (saw.offset_mm - saw.normal.dot(pivot_mm)) * saw.normal;
    saw.normal = normal.normalized();
    saw.offset_mm = saw.normal.dot(foot);
    if (saw.v) saw.v->beam = beamAt(saw.normal, beam_deg);
}

Vector3d beamAt(const Vector3d& normal, double angle_deg) {
    const auto [level, rising] = across(normal);
    return std::cos(radians(angle_deg)) * level + std::sin(radians(angle_deg)) * rising;
}

double beamAngle_deg(const Vector3d& normal, const Vector3d& beam) {
    const auto [level, rising] = across(normal);
    return degrees(std::atan2(beam.dot(rising), beam.dot(level)));
}

QString planeName(const std::vector<SawableDirection>& planes, std::size_t index) {
    const auto same = [&](const SawableDirection& one) { return one.form == planes[index].form; };
    const auto number = std::count_if(
        planes.begin(), planes.begin() + static_cast<std::ptrdiff_t>(index) + 1, same);
    return planes[index].form == FaceForm::Cube ? QObject::tr("cube plane %1").arg(number)
                                                : QObject::tr("dodecahedron plane %1").arg(number);
}

QString planeWords(const Saw& saw, const std::optional<CrystalAxes>& axes) {
    if (axes) {
        const auto planes = sawableDirections(*axes);
        for (std::size_t i = 0; i < planes.size(); ++i)
            if (betweenPlanes_deg(planes[i].normal, saw.normal) < kSamePlane_deg)
                return planeName(planes, i);
    }
    return QObject::tr("any plane");
}

}  // namespace macle::app
