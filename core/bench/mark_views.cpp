#include "core/bench/mark_views.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

// What lies in front by less does not hide: as much as a mark may lie off the skin.
constexpr double kInFront_mm = tolerance::kMarkOffSkin_mm;
constexpr std::size_t kLeastFields = 8, kMostFields = 512;

// The skin that faces the viewer, in square fields of the view.
class FrontSkin {
  public:
    FrontSkin(const TriangleMesh& skin, const ViewAxes& axes) : skin_(skin), axes_(axes) {
        bool first = true;
        for (const auto& t : skin.triangles)
            for (const std::uint32_t v : t) {
                const Vector2d p = axes.project(skin.vertices[v]);
                low_ = first ? p : low_.cwiseMin(p).eval();
                high_ = first ? p : high_.cwiseMax(p).eval();
                first = false;
            }
        const double wanted = std::sqrt(static_cast<double>(skin.triangles.size()));
        fields_ = std::clamp(static_cast<std::size_t>(wanted), kLeastFields, kMostFields);
        inField_.resize(fields_ * fields_);
        for (std::size_t t = 0; t < skin.triangles.size(); ++t)
            if (faces(t)) place(static_cast<std::uint32_t>(t));
    }

    const Vector2d& low() const { return low_; }
    const Vector2d& high() const { return high_; }

    bool faces(std::size_t t) const {
        const auto& c = skin_.triangles[t];
        return (skin_.vertices[c[1]] - skin_.vertices[c[0]])
                   .cross(skin_.vertices[c[2]] - skin_.vertices[c[0]])
                   .dot(axes_.toViewer()) > 0.0;
    }
    // Nothing lies between the place, on the skin, and the viewer.
    bool sees(const Vector3d& place) const {
        const Vector2d p = axes_.project(place);
        const double depth = axes_.toViewer().dot(place);
        for (const std::uint32_t t : inField_[field(p, 1) * fields_ + field(p, 0)])
            if (depthAt(t, p) > depth + kInFront_mm) return false;
        return true;
    }

  private:
    std::size_t field(const Vector2d& p, int axis) const {
        const double extent = high_[axis] - low_[axis];
        const double at =
            extent > 0.0 ? (p[axis] - low_[axis]) / extent * static_cast<double>(fields_) : 0.0;
        return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(fields_ - 1)));
    }
    void place(std::uint32_t t) {
        const auto& c = skin_.triangles[t];
        Vector2d low = axes_.project(skin_.vertices[c[0]]), high = low;
        for (const std::uint32_t v : c) {
            const Vector2d p = axes_.project(skin_.vertices[v]);
            low = low.cwiseMin(p);
            high = high.cwiseMax(p);
        }
        for (std::size_t j = field(low, 1); j <= field(high, 1); ++j)
            for (std::size_t i = field(low, 0); i <= field(high, 0); ++i)
                inField_[j * fields_ + i].push_back(t);
    }
    // Towards the viewer, where the triangle covers the place; far away where it does not.
    double depthAt(std::uint32_t t, const Vector2d& p) const {
        const auto& c = skin_.triangles[t];
        std::array<Vector2d, 3> q;
        for (std::size_t k = 0; k < 3; ++k)
            q[k] = axes_.project(skin_.vertices[c[k]]) - p;
        double sum = 0.0, depth = 0.0;
        for (std::size_t k = 0; k < 3; ++k) {
            const Vector2d &a = q[(k + 1) % 3], &b = q[(k + 2) % 3];
            const double share = a.x() * b.y() - a.y() * b.x();
            if (share < 0.0) return -std::numeric_limits<double>::infinity();
            sum += share;
            depth += share * axes_.toViewer().dot(skin_.vertices[c[k]]);
        }
        return sum > 0.0 ? depth / sum : -std::numeric_limits<double>::infinity();
    }

    const TriangleMesh& skin_;
    ViewAxes axes_;
    Vector2d low_ = Vector2d::Zero(), high_ = Vector2d::Zero();
    std::size_t fields_ = kLeastFields;
    std::vector<std::vector<std::uint32_t>> inField_;
};

void addRuns(const SectionLoop& loop, const FrontSkin& front, const ViewAxes& axes,
             std::vector<DrawnRun>& runs) {
    const std::size_t n = loop.points.size();
    std::vector<bool> seen(n);
    for (std::size_t i = 0; i < n; ++i)
        seen[i] = loop.steps[i].onSkin() &&
                  front.faces(static_cast<std::size_t>(loop.steps[i].triangle)) &&
                  front.sees(0.5 * (loop.points[i] + loop.points[(i + 1) % n]));
    std::size_t start = 0;
    while (start < n && seen[start] == seen[(start + n - 1) % n])
        ++start;
    start %= n;
    for (std::size_t k = 0; k < n; ++k) {
        const std::size_t i = (start + k) % n;
        if (k == 0 || seen[i] != runs.back().seen)
            runs.push_back({seen[i], {axes.project(loop.points[i])}, 0.0});
        DrawnRun& run = runs.back();
        const Vector2d to = axes.project(loop.points[(i + 1) % n]);
        run.length_mm += (to - run.points.back()).norm();
        run.points.push_back(to);
    }
}

}  // namespace

std::vector<MarkView> markViews(const Marks& marks, const TriangleMesh& skin) {
    const ReferenceFace* face = marks.references.empty() ? nullptr : &marks.references.front();
    Vector3d up = Vector3d::UnitZ();
    if (face != nullptr)
        up = face->plane.normal;
    else if (!marks.curves.empty())
        up = marks.curves.front().plane.normal;
    const Vector3d right = face != nullptr ? face->index0 : Vector3d(up.unitOrthogonal());
    const Vector3d across = up.cross(right);
    std::vector<MarkView> views(4);
    views[0].title = face != nullptr ? "Facing the reference face" : "Facing the first plane";
    views[0].axes = {right, across};
    views[1].title = "From its side";
    views[1].axes = {right, up};
    views[2].title = "From its end";
    views[2].axes = {across, up};
    views[3].title = "From behind it";
    views[3].axes = {right, -across};
    for (MarkView& view : views) {
        const FrontSkin front(skin, view.axes);
        view.low = front.low();
        view.high = front.high();
        view.outline = outlineOf(skin, view.axes);
        for (const MarkCurve& curve : marks.curves) {
            auto& runs = view.runs.emplace_back();
            for (const SectionLoop& loop : curve.loops)
                addRuns(loop, front, view.axes, runs);
        }
        if (face == nullptr) continue;
        for (const ReferencePoint& point : face->points)
            view.pointSeen.push_back(front.sees(point.point.place_mm));
    }
    return views;
}

}  // namespace macle
