#include "core/stone/defect_move.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/error.h"

namespace macle {
namespace {

using Eigen::Vector3d;

// C. Ericson, Real-Time Collision Detection (2005), 5.1.5: the region of the triangle decides.
double toTriangle_mm(const Vector3d& p, const Vector3d& a, const Vector3d& b, const Vector3d& c) {
    const auto toEdge = [&p](const Vector3d& from, const Vector3d& to) {
        const Vector3d along = to - from;
        const double length = along.squaredNorm();
        const double share =
            length > 0.0 ? std::clamp((p - from).dot(along) / length, 0.0, 1.0) : 0.0;
        return (p - from - share * along).norm();
    };
    const Vector3d normal = (b - a).cross(c - a);
    const bool over = normal.squaredNorm() > 0.0 && normal.dot((b - a).cross(p - a)) >= 0.0 &&
                      normal.dot((c - b).cross(p - b)) >= 0.0 &&
                      normal.dot((a - c).cross(p - c)) >= 0.0;
    if (over) return std::abs(normal.dot(p - a)) / normal.norm();
    return std::min({toEdge(a, b), toEdge(b, c), toEdge(c, a)});
}

double toSheet_mm(const Defect& defect, const Vector3d& point) {
    double least = std::numeric_limits<double>::infinity();
    const TriangleMesh surface = defectSurface(defect);
    for (const auto& t : surface.triangles)
        least = std::min(least, toTriangle_mm(point, surface.vertices[t[0]], surface.vertices[t[1]],
                                              surface.vertices[t[2]]));
    return least;
}

}  // namespace

bool canBeMoved(const Defect& defect) {
    return !std::holds_alternative<TriangleMesh>(defect.shape);
}

Defect movedBy(Defect defect, const Vector3d& by) {
    if (!by.allFinite())
        throw Error(ErrorCode::BadUsage, "The defect cannot be moved by that length.",
                    "Give three finite lengths in mm.");
    if (auto* ellipsoid = std::get_if<Ellipsoid>(&defect.shape))
        ellipsoid->centre_mm += by;
    else if (auto* sheet = std::get_if<Sheet>(&defect.shape))
        for (Vector3d& corner : sheet->corners_mm)
            corner += by;
    else
        throw Error(ErrorCode::BadUsage,
                    "The shape of '" + defect.name + "' was scanned and is not moved by hand.",
                    "Add a defect beside it, or change its policy in the list.");
    return defect;
}

double farFrom_mm(const Defect& defect, const Vector3d& point) {
    if (const auto* e = std::get_if<Ellipsoid>(&defect.shape)) {
        const Vector3d offset = point - e->centre_mm;
        const double reach =
            (e->rotation.conjugate() * offset).cwiseQuotient(e->halfAxes_mm).norm();
        return reach <= 1.0 ? 0.0 : offset.norm() * (1.0 - 1.0 / reach);
    }
    if (std::holds_alternative<Sheet>(defect.shape)) return toSheet_mm(defect, point);
    return std::numeric_limits<double>::infinity();
}

std::optional<Vector3d> underPointer(const Defect& defect, const Vector3d& origin,
                                     const Vector3d& direction, double slack) {
    if (!canBeMoved(defect)) return std::nullopt;
    const Vector3d middle = defectBounds(defect).centre();
    Vector3d place = origin + direction.dot(middle - origin) * direction;
    if (const auto* e = std::get_if<Ellipsoid>(&defect.shape)) {
        // Nearest to the middle where lengths are measured in half-axes.
        const auto scaled = [e](const Vector3d& v) -> Vector3d {
            return (e->rotation.conjugate() * v).cwiseQuotient(e->halfAxes_mm);
        };
        const Vector3d way = scaled(direction), from = scaled(e->centre_mm - origin);
        place = origin + way.dot(from) / way.squaredNorm() * direction;
    } else {
        const TriangleMesh surface = defectSurface(defect);
        const auto& t = surface.triangles.at(0);
        const Vector3d normal = (surface.vertices[t[1]] - surface.vertices[t[0]])
                                    .cross(surface.vertices[t[2]] - surface.vertices[t[0]])
                                    .normalized();
        constexpr double kEdgeOn = 0.05;  // flatter than about 3 degrees it is met by its rim
        const double slope = normal.dot(direction);
        if (std::abs(slope) > kEdgeOn)
            place = origin + normal.dot(surface.vertices[t[0]] - origin) / slope * direction;
    }
    if (direction.dot(place - origin) < 0.0 || farFrom_mm(defect, place) > slack)
        return std::nullopt;
    return place;
}

}  // namespace macle
