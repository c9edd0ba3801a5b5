#include "core/light/body_inside.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle {
namespace {

// Moeller and Trumbore, J. Graphics Tools 2 (1997) 21: along a ray, both sides count.
bool crosses(const std::array<Eigen::Vector3d, 3>& triangle, const Eigen::Vector3d& origin,
             const Eigen::Vector3d& direction, double& t) {
    const Eigen::Vector3d p = direction.cross(triangle[2]);
    const double determinant = triangle[1].dot(p);
    if (determinant == 0.0) return false;
    const Eigen::Vector3d s = origin - triangle[0];
    const double u = s.dot(p) / determinant;
    if (u < 0.0 || u > 1.0) return false;
    const Eigen::Vector3d q = s.cross(triangle[1]);
    const double v = direction.dot(q) / determinant;
    if (v < 0.0 || u + v > 1.0) return false;
    t = triangle[2].dot(q) / determinant;
    return true;
}

}  // namespace

BodyInside::BodyInside(Shape shape, double opacity) : shape_(std::move(shape)), opacity_(opacity) {
    if (!(opacity >= 0.0 && opacity <= 1.0))
        throw Error(ErrorCode::BadUsage,
                    "An opacity of " + formatExact(opacity) + " is outside 0 to 1.",
                    "0 lets all light pass, 1 none.");
    if (const auto* ellipsoid = std::get_if<Ellipsoid>(&shape_)) {
        if (!ellipsoid->halfAxes_mm.allFinite() || !ellipsoid->centre_mm.allFinite() ||
            !(ellipsoid->halfAxes_mm.minCoeff() > 0.0))
            throw Error(ErrorCode::BadInput, "An ellipsoid has half-axes that are not above zero.",
                        "Give three half-axes in mm.");
        centre_ = ellipsoid->centre_mm;
        radius_ = ellipsoid->halfAxes_mm.maxCoeff();
        toBall_ = ellipsoid->halfAxes_mm.cwiseInverse().asDiagonal() *
                  ellipsoid->rotation.normalized().toRotationMatrix().transpose();
        return;
    }
    Defect defect;
    TriangleMesh mesh;
    if (const auto* given = std::get_if<TriangleMesh>(&shape_)) {
        defect.shape = *given;
        closed_ = true;
    } else {
        defect.shape = std::get<Sheet>(shape_);
    }
    mesh = defectSurface(defect);
    if (mesh.empty())
        throw Error(ErrorCode::BadInput, "A body inside the stone has no surface.",
                    "Give it at least one triangle.");
    for (const auto& t : mesh.triangles) {
        const Eigen::Vector3d &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]],
                              &c = mesh.vertices[t[2]];
        triangles_.push_back({a, b - a, c - a});
    }
    centre_ = macle::bounds(mesh).centre();
    for (const Eigen::Vector3d& v : mesh.vertices)
        radius_ = std::max(radius_, (v - centre_).norm());
}

double BodyInside::centreDistance_mm(const Eigen::Vector3d& origin,
                                     const Eigen::Vector3d& direction, double length_mm) const {
    const Eigen::Vector3d to = centre_ - origin;
    const double t = std::clamp(to.dot(direction), 0.0, length_mm);
    return (to - t * direction).norm();
}

bool BodyInside::touches(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction,
                         double length_mm) const {
    if (centreDistance_mm(origin, direction, length_mm) > radius_) return false;
    if (std::holds_alternative<Ellipsoid>(shape_)) {
        const Eigen::Vector3d from = toBall_ * (origin - centre_), along = toBall_ * direction;
        const double t = std::clamp(-from.dot(along) / along.squaredNorm(), 0.0, length_mm);
        return (from + t * along).squaredNorm() <= 1.0;
    }
    int before = 0;
    for (const auto& triangle : triangles_) {
        double t = 0.0;
        if (!crosses(triangle, origin, direction, t)) continue;
        if (t >= 0.0 && t <= length_mm) return true;
        if (t > length_mm) ++before;
    }
    // No crossing on the stretch: inside all along when an odd number lies beyond its end.
    return closed_ && before % 2 == 1;
}

BodyInside::Shape inCutFrame(const Defect& defect, const Placement& placement) {
    const Eigen::Quaterniond turn = placement.rotation.conjugate();
    const auto carried = [&](const Eigen::Vector3d& p) -> Eigen::Vector3d {
        return turn * (p - placement.translation_mm);
    };
    BodyInside::Shape shape = defect.shape;
    if (auto* mesh = std::get_if<TriangleMesh>(&shape))
        for (Eigen::Vector3d& v : mesh->vertices)
            v = carried(v);
    if (auto* ellipsoid = std::get_if<Ellipsoid>(&shape)) {
        ellipsoid->centre_mm = carried(ellipsoid->centre_mm);
        ellipsoid->rotation = (turn * ellipsoid->rotation).normalized();
    }
    if (auto* sheet = std::get_if<Sheet>(&shape))
        for (Eigen::Vector3d& corner : sheet->corners_mm)
            corner = carried(corner);
    return shape;
}

double usualOpacity(DefectKind kind) {
    switch (kind) {
        case DefectKind::Crystal:
        case DefectKind::Crack:
            return 1.0;
        case DefectKind::Feather:
        case DefectKind::Other:
            return 0.7;
        case DefectKind::Pinpoint:
            return 0.9;
        case DefectKind::Cloud:
            return 0.3;
        case DefectKind::GrainLine:
            return 0.1;
    }
    return 1.0;
}

}  // namespace macle
