#include "render/plane_area.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace macle::render {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

// Sine of the angle below which two planes count as parallel: their line would lie farther away
// than any stone is large.
constexpr double kParallel = 1e-9;

}  // namespace

PlaneArea::PlaneArea(const std::vector<Segment>& outline, const CutPlane& plane)
    : origin_(plane.offset_mm * plane.normal) {
    // As level as the plane allows, so that a hatch leans alike in planes that lie alike.
    const Vector3d upright =
        std::abs(plane.normal.z()) < 0.9 ? Vector3d::UnitZ() : Vector3d::UnitY();
    across_ = upright.cross(plane.normal).normalized();
    up_ = plane.normal.cross(across_);
    for (const Segment& segment : outline)
        lines_.push_back({flat(segment.from), flat(segment.to)});
}

Vector2d PlaneArea::flat(const Vector3d& point_mm) const {
    const Vector3d from = point_mm - origin_;
    return {from.dot(across_), from.dot(up_)};
}

Segment PlaneArea::raised(const Line2& line) const {
    const auto point = [&](const Vector2d& p) -> Vector3d {
        return origin_ + p.x() * across_ + p.y() * up_;
    };
    return {point(line.from), point(line.to)};
}

PlaneArea::HalfPlane PlaneArea::flat(const HalfSpace& side) const {
    const Vector2d normal(side.normal.dot(across_), side.normal.dot(up_));
    const double room = side.offset_mm - side.normal.dot(origin_);
    const double length = normal.norm();
    if (length <= kParallel) return {Vector2d::UnitX(), room, false};
    return {normal / length, room / length, true};
}

// A point on the line counts as beyond it, here and in `stretches`, so that an edge of the outline
// on the line is neither lost nor doubled.
void PlaneArea::clip(const HalfPlane& side) {
    if (!side.crosses) {
        if (side.offset_mm < 0.0) lines_.clear();
        return;
    }
    std::vector<Line2> kept = stretches(side);
    for (Line2 line : lines_) {
        const double from = side.normal.dot(line.from) - side.offset_mm;
        const double to = side.normal.dot(line.to) - side.offset_mm;
        if (from >= 0.0 && to >= 0.0) continue;
        if (from >= 0.0 || to >= 0.0) {
            const Vector2d meet = line.from + from / (from - to) * (line.to - line.from);
            (from >= 0.0 ? line.from : line.to) = meet;
        }
        kept.push_back(line);
    }
    lines_ = std::move(kept);
}

std::vector<PlaneArea::Line2> PlaneArea::stretches(const HalfPlane& line) const {
    const Vector2d direction(-line.normal.y(), line.normal.x());
    std::vector<double> crossings;  // even, as the outline is closed
    for (const Line2& edge : lines_) {
        const double from = line.normal.dot(edge.from) - line.offset_mm;
        const double to = line.normal.dot(edge.to) - line.offset_mm;
        if ((from >= 0.0) == (to >= 0.0)) continue;
        const double share = from / (from - to);
        crossings.push_back(direction.dot(edge.from + share * (edge.to - edge.from)));
    }
    std::sort(crossings.begin(), crossings.end());
    const Vector2d foot = line.offset_mm * line.normal;
    std::vector<Line2> stretches;
    for (std::size_t k = 0; k + 1 < crossings.size(); k += 2)
        stretches.push_back({foot + crossings[k] * direction, foot + crossings[k + 1] * direction});
    return stretches;
}

PlaneArea PlaneArea::within(const std::vector<HalfSpace>& sides) const {
    PlaneArea area = *this;
    for (const HalfSpace& side : sides)
        area.clip(flat(side));
    return area;
}

std::vector<Segment> PlaneArea::outline() const {
    std::vector<Segment> outline;
    for (const Line2& line : lines_)
        outline.push_back(raised(line));
    return outline;
}

std::vector<Segment> PlaneArea::along(const HalfSpace& other) const {
    const HalfPlane line = flat(other);
    std::vector<Segment> found;
    if (!line.crosses) return found;
    for (const Line2& stretch : stretches(line))
        found.push_back(raised(stretch));
    return found;
}

std::vector<Segment> PlaneArea::hatch(double spacing_mm) const {
    if (!(spacing_mm > 0.0) || lines_.empty()) return {};
    const Vector2d normal = Vector2d(-1.0, 1.0) * (0.5 * std::numbers::sqrt2);
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const Line2& line : lines_) {
        for (const Vector2d& point : {line.from, line.to}) {
            low = std::min(low, normal.dot(point));
            high = std::max(high, normal.dot(point));
        }
    }
    if (!((high - low) / spacing_mm <= kMostHatch)) return {};
    std::vector<Segment> hatch;
    for (double step = std::ceil(low / spacing_mm); step * spacing_mm <= high; step += 1.0)
        for (const Line2& stretch : stretches({normal, step * spacing_mm, true}))
            hatch.push_back(raised(stretch));
    return hatch;
}

bool PlaneArea::contains(const Vector3d& point_mm) const {
    const Vector2d point = flat(point_mm);
    bool inside = false;
    for (const Line2& line : lines_) {
        if ((line.from.y() > point.y()) == (line.to.y() > point.y())) continue;
        const double share = (point.y() - line.from.y()) / (line.to.y() - line.from.y());
        if (line.from.x() + share * (line.to.x() - line.from.x()) > point.x()) inside = !inside;
    }
    return inside;
}

}  // namespace macle::render
