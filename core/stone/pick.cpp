#include "core/stone/pick.h"

#include <Eigen/Geometry>
#include <cmath>
#include <limits>

#include "core/base/units.h"

namespace macle {

namespace {

using Eigen::Vector3d;

}  // namespace

std::optional<SkinPick> pickSkin(const TriangleMesh& skin, const Vector3d& origin,
                                 const Vector3d& direction, const std::optional<OpenPlane>& open) {
    const Vector3d along = direction.normalized();
    // Where the ray is inside what is left of space: before the plane or behind it.
    double from = -std::numeric_limits<double>::infinity();
    double to = std::numeric_limits<double>::infinity();
    double atPlane = std::numeric_limits<double>::quiet_NaN();
    if (open) {
        const double rise = open->normal.dot(along);
        const double height = open->normal.dot(origin) - open->offset_mm;
        if (rise == 0.0 && height > 0.0) return std::nullopt;
        if (rise < 0.0) {
            atPlane = -height / rise;
            from = atPlane;
        } else if (rise > 0.0) {
            to = -height / rise;
        }
    }
    double nearest = std::numeric_limits<double>::infinity();
    bool insideAtPlane = false;
    for (const auto& [a, b, c] : skin.triangles) {
        const Vector3d& p = skin.vertices[a];
        const Vector3d e = skin.vertices[b] - p, f = skin.vertices[c] - p;
        const Vector3d h = along.cross(f);
        const double scale = e.dot(h);
        if (scale == 0.0) continue;
        const Vector3d s = origin - p;
        const double u = s.dot(h) / scale;
        if (!(u >= 0.0 && u <= 1.0)) continue;
        const Vector3d q = s.cross(e);
        const double v = along.dot(q) / scale;
        if (!(v >= 0.0 && u + v <= 1.0)) continue;
        const double t = f.dot(q) / scale;
        // Each crossing before the plane changes between inside and outside there.
        if (t < atPlane) insideAtPlane = !insideAtPlane;
        if (t >= from && t <= to && t < nearest) nearest = t;
    }
    if (insideAtPlane) return SkinPick{origin + atPlane * along, true};
    if (!std::isfinite(nearest)) return std::nullopt;
    return SkinPick{origin + nearest * along, false};
}

std::optional<FaceAt> faceAt(const TriangleMesh& skin, const Vector3d& place, double radius) {
    const auto forEach = [&](const auto& look) {
        for (const auto& [a, b, c] : skin.triangles) {
            const Vector3d &p = skin.vertices[a], &q = skin.vertices[b], &r = skin.vertices[c];
            const Vector3d middle = (p + q + r) / 3.0;
            const double reach =
                std::max({(p - middle).norm(), (q - middle).norm(), (r - middle).norm()});
            // A triangle larger than the radius counts when the place lies on it.
            if ((middle - place).norm() > std::max(radius, 0.0) + reach) continue;
            const Vector3d cross = (q - p).cross(r - p);
            if (reach > radius) {
                const Vector3d n = cross.normalized();
                if (std::abs(n.dot(place - p)) > radius) continue;
                const double w0 = n.dot((q - p).cross(place - p)),
                             w1 = n.dot((r - q).cross(place - q)),
                             w2 = n.dot((p - r).cross(place - r));
                if (std::min({w0, w1, w2}) < 0.0) continue;
            }
            look(cross);
        }
    };
    Vector3d sum = Vector3d::Zero();
    double area = 0.0;
    forEach([&](const Vector3d& cross) {
        sum += cross;
        area += cross.norm();
    });
    if (!(sum.norm() > 0.0)) return std::nullopt;
    FaceAt face;
    face.normal = sum.normalized();
    double turned = 0.0;
    forEach([&](const Vector3d& cross) {
        turned +=
            cross.norm() * std::atan2(face.normal.cross(cross).norm(), face.normal.dot(cross));
    });
    face.spread_deg = degrees(turned / area);
    return face;
}

}  // namespace macle
