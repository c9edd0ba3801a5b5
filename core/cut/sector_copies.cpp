#include "core/cut/sector_copies.h"

#include <algorithm>
#include <cmath>

#include "core/base/tolerance.h"
#include "core/base/units.h"

namespace macle {

using Eigen::Vector3d;

namespace {

Vector3d mirrored(const Vector3d& n) {
    return {n.x(), -n.y(), n.z()};
}

}  // namespace

Vector3d SectorCopies::turned(const Vector3d& n, int steps) const {
    if (steps == 0) return n;
    if (2 * steps == turns_) return {-n.x(), -n.y(), n.z()};
    const double c = std::cos(radians(360.0 * steps / turns_));
    const double s = std::sin(radians(360.0 * steps / turns_));
    return {c * n.x() - s * n.y(), s * n.x() + c * n.y(), n.z()};
}

void SectorCopies::settle(Vector3d& normal) const {
    if (std::hypot(normal.x(), normal.y()) <= tolerance::kOnPlane_mm) {
        normal = Vector3d(0.0, 0.0, normal.z() < 0.0 ? -1.0 : 1.0);
        return;
    }
    if (std::abs(normal.z()) <= tolerance::kOnPlane_mm) normal.z() = 0.0;
    if (mirror_)
        for (int k = 0; k < turns_; ++k) {
            const Vector3d image = turned(mirrored(normal), k);
            if ((image - normal).norm() <= tolerance::kOnPlane_mm) normal = 0.5 * (image + normal);
        }
    normal.normalize();
}

std::vector<Vector3d> SectorCopies::images(const Vector3d& normal) const {
    std::vector<Vector3d> all;
    const auto add = [&](const Vector3d& image) {
        const bool known = std::any_of(all.begin(), all.end(), [&](const Vector3d& n) {
            return (n - image).norm() <= tolerance::kOnPlane_mm;
        });
        if (!known) all.push_back(image);
    };
    for (int k = 0; k < turns_; ++k) {
        add(turned(normal, k));
        if (mirror_) add(turned(mirrored(normal), k));
    }
    return all;
}

}  // namespace macle
