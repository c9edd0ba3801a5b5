#include "core/divide/saw.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kUnitWithin = 1e-9;

void check(const Saw& saw) {
    if (!(std::abs(saw.normal.norm() - 1.0) <= kUnitWithin) || !std::isfinite(saw.offset_mm))
        throw Error(ErrorCode::BadUsage, "A saw plane has no direction of length 1 or no place.",
                    "Give a normal and an offset in mm.");
    if (!(saw.kerf_mm >= 0.0) || !std::isfinite(saw.kerf_mm))
        throw Error(ErrorCode::BadUsage,
                    "A kerf cannot be " + formatExact(saw.kerf_mm) + " mm wide.",
                    "Give 0 mm or more.");
    if (saw.v && !(saw.v->exit_mm >= 0.0 && saw.v->exit_mm <= saw.kerf_mm))
        throw Error(ErrorCode::BadUsage,
                    "A V kerf narrows: it cannot be " + formatExact(saw.kerf_mm) +
                        " mm wide where the beam enters and " + formatExact(saw.v->exit_mm) +
                        " mm where it leaves.",
                    "Give an exit width between 0 and the width at the entry.");
}

HalfSpace unit(const Vector3d& normal, double offset) {
    const double length = normal.norm();
    return {normal / length, offset / length};
}

}  // namespace

SawnSides sawnSides(const Saw& saw, const TriangleMesh& piece) {
    check(saw);
    const double half = 0.5 * saw.kerf_mm;
    if (!saw.v) return {{saw.normal, saw.offset_mm - half}, {-saw.normal, -(saw.offset_mm + half)}};
    Vector3d beam = saw.v->beam - saw.normal.dot(saw.v->beam) * saw.normal;
    if (!(beam.norm() > tolerance::kOnPlane_mm) || !beam.allFinite())
        throw Error(ErrorCode::BadUsage, "The beam runs across its saw plane.",
                    "Give a direction that lies in the plane.");
    beam.normalize();
    require(!piece.empty(), "a V kerf knows its piece");
    double entry = beam.dot(piece.vertices.front());
    double exit = entry;
    for (const Vector3d& vertex : piece.vertices) {
        entry = std::min(entry, beam.dot(vertex));
        exit = std::max(exit, beam.dot(vertex));
    }
    // Half width at s along the beam: half + slope * (s - entry).
    const double slope = (0.5 * saw.v->exit_mm - half) / (exit - entry);
    const double atZero = half - slope * entry;
    return {unit(saw.normal + slope * beam, saw.offset_mm - atZero),
            unit(-saw.normal + slope * beam, -saw.offset_mm - atZero)};
}

std::vector<SawableDirection> sawableDirections(const CrystalAxes& axes) {
    std::vector<SawableDirection> directions;
    const auto add = [&](const Vector3d& crystal, FaceForm form) {
        directions.push_back({axes.rotation * crystal.normalized(), form, 0.0});
    };
    for (int i = 0; i < 3; ++i)
        add(Vector3d::Unit(i), FaceForm::Cube);
    for (int i = 0; i < 3; ++i)
        for (const double sign : {1.0, -1.0})
            add(Vector3d::Unit((i + 1) % 3) + sign * Vector3d::Unit((i + 2) % 3),
                FaceForm::Dodecahedron);
    return directions;
}

SawableDirection nearestSawable(const CrystalAxes& axes, const Vector3d& direction) {
    const Vector3d wanted = direction.normalized();
    SawableDirection best;
    double most = -1.0;
    for (SawableDirection one : sawableDirections(axes)) {
        const double along = one.normal.dot(wanted);
        if (std::abs(along) <= most) continue;
        most = std::abs(along);
        if (along < 0.0) one.normal = -one.normal;
        best = one;
    }
    best.off_deg = degrees(std::acos(std::min(1.0, most)));
    return best;
}

}  // namespace macle
