#include "app/window/hand.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/units.h"

namespace macle::app {

Ray rayThrough(const Sight& sight, double x_px, double y_px) {
    const double scale = 2.0 * sight.halfHeight / sight.height_px;
    const double x = (x_px - 0.5 * sight.width_px) * scale;
    const double y = (0.5 * sight.height_px - y_px) * scale;
    if (sight.parallel) return {sight.eye_mm + x * sight.right + y * sight.up, sight.ahead};
    return {sight.eye_mm, (sight.ahead + x * sight.right + y * sight.up).normalized()};
}

double millimetresPerPixel(const Sight& sight, const Eigen::Vector3d& point_mm) {
    const double scale = 2.0 * sight.halfHeight / sight.height_px;
    if (sight.parallel) return scale;
    return scale * std::abs((point_mm - sight.eye_mm).dot(sight.ahead));
}

bool meets(const Ray& ray, const Design& design, const Placement& placement) {
    const Eigen::Quaterniond inverse = placement.rotation.conjugate();
    const Eigen::Vector3d origin = inverse * (ray.origin_mm - placement.translation_mm);
    const Eigen::Vector3d direction = inverse * ray.direction;
    for (const ConvexPart& part : design.parts) {
        double enter = 0.0;
        double leave = std::numeric_limits<double>::infinity();
        for (const Facet& facet : part.facets) {
            const double speed = facet.normal.dot(direction);
            const double room = facet.distance * placement.size_mm - facet.normal.dot(origin);
            if (speed > 0.0)
                leave = std::min(leave, room / speed);
            else if (speed < 0.0)
                enter = std::max(enter, room / speed);
            else if (room < 0.0)
                leave = -1.0;
        }
        if (enter <= leave) return true;
    }
    return false;
}

Placement turnedAbout(const Placement& placement, const Eigen::Vector3d& axis, double angle_deg) {
    Placement result = placement;
    const Eigen::Quaterniond turn(Eigen::AngleAxisd(radians(angle_deg), axis.normalized()));
    result.rotation = (turn * placement.rotation).normalized();
    return result;
}

Placement turned(const Placement& placement, const Sight& sight, double dx_px, double dy_px) {
    const double across = std::min(sight.width_px, sight.height_px);
    // The front of the cut follows the pointer: right is a turn about up, down a turn about right.
    const Eigen::Vector3d axis = dx_px * sight.up + dy_px * sight.right;
    const double path = std::hypot(dx_px, dy_px);
    if (path <= 0.0 || across <= 0.0) return placement;
    return turnedAbout(placement, axis, 180.0 * path / across);
}

Placement spun(const Placement& placement, double angle_deg) {
    return turnedAbout(placement, placement.rotation * Eigen::Vector3d::UnitZ(), angle_deg);
}

Placement moved(const Placement& placement, const Sight& sight, double dx_px, double dy_px) {
    Placement result = placement;
    const double scale = millimetresPerPixel(sight, placement.translation_mm);
    result.translation_mm += scale * (dx_px * sight.right - dy_px * sight.up);
    return result;
}

Placement sized(const Placement& placement, double size_mm) {
    Placement result = placement;
    result.size_mm = std::clamp(size_mm, kSmallestSize_mm, kLargestSize_mm);
    return result;
}

}  // namespace macle::app
