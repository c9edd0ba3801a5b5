#include "core/bench/hidden_lines.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/base/tolerance.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

// Seen so nearly edge-on a triangle hides nothing; its depth would be all rounding.
constexpr double kEdgeOn = 1e-6;  // cosine
constexpr int kMostCells = 512;   // each way

double cross(const Vector2d& a, const Vector2d& b) {
    return a.x() * b.y() - a.y() * b.x();
}

// Keeps of the stretch [from, to] where value(0) + t (value(1) - value(0)) > 0.
void clip(double atStart, double atEnd, double& from, double& to) {
    if (atStart <= 0.0 && atEnd <= 0.0) {
        to = from;
        return;
    }
    if (atStart > 0.0 && atEnd > 0.0) return;
    const double t = atStart / (atStart - atEnd);
    if (atStart > 0.0)
        to = std::min(to, t);
    else
        from = std::max(from, t);
}

}  // namespace

HiddenLines::HiddenLines(const TriangleMesh& surface, const ViewAxes& axes) : axes_(axes) {
    const Vector3d viewer = axes.toViewer();
    Vector2d high(0, 0);
    for (const auto& t : surface.triangles) {
        const std::array<Vector3d, 3> p = {surface.vertices[t[0]], surface.vertices[t[1]],
                                           surface.vertices[t[2]]};
        const Vector3d normal = (p[1] - p[0]).cross(p[2] - p[0]);
        const double facing = normal.dot(viewer);
        if (!(facing > kEdgeOn * normal.norm())) continue;
        Cover cover;
        for (std::size_t k = 0; k < 3; ++k)
            cover.corners[k] = axes.project(p[k]);
        cover.slope = Vector2d(-normal.dot(axes.right), -normal.dot(axes.up)) / facing;
        cover.at = viewer.dot(p[0]) - cover.slope.dot(cover.corners[0]);
        for (const Vector2d& c : cover.corners) {
            low_ = covers_.empty() ? c : low_.cwiseMin(c).eval();
            high = covers_.empty() ? c : high.cwiseMax(c).eval();
        }
        covers_.push_back(cover);
    }
    const Vector2d extent = high - low_;
    const double wish = std::sqrt(static_cast<double>(covers_.size()));
    const double count = std::clamp(wish, 1.0, static_cast<double>(kMostCells));
    cell_ = std::max(extent.maxCoeff() / count, tolerance::kMergeVertex_mm);
    for (int k = 0; k < 2; ++k)
        cells_[static_cast<std::size_t>(k)] =
            std::min(kMostCells, static_cast<int>(extent[k] / cell_)) + 1;
    grid_.resize(static_cast<std::size_t>(cells_[0]) * static_cast<std::size_t>(cells_[1]));
    for (std::size_t i = 0; i < covers_.size(); ++i) {
        const auto& c = covers_[i].corners;
        const auto from = cellOf(c[0].cwiseMin(c[1]).cwiseMin(c[2]));
        const auto to = cellOf(c[0].cwiseMax(c[1]).cwiseMax(c[2]));
        for (int y = from[1]; y <= to[1]; ++y)
            for (int x = from[0]; x <= to[0]; ++x)
                grid_[static_cast<std::size_t>(y * cells_[0] + x)].push_back(
                    static_cast<std::uint32_t>(i));
    }
}

std::array<int, 2> HiddenLines::cellOf(const Vector2d& p) const {
    std::array<int, 2> cell{};
    for (int k = 0; k < 2; ++k) {
        const auto i = static_cast<std::size_t>(k);
        const double at = std::floor((p[k] - low_[k]) / cell_);
        cell[i] = static_cast<int>(std::clamp(at, 0.0, static_cast<double>(cells_[i] - 1)));
    }
    return cell;
}

void HiddenLines::split(const Vector3d& from, const Vector3d& to, std::vector<ViewEdge>& visible,
                        std::vector<ViewEdge>& hidden) const {
    const Vector3d viewer = axes_.toViewer();
    const Vector2d a = axes_.project(from), b = axes_.project(to);
    if ((b - a).norm() < tolerance::kInside_mm) return;  // seen end-on
    const double depthA = viewer.dot(from), depthB = viewer.dot(to);
    std::set<std::uint32_t> near;
    const auto first = cellOf(a.cwiseMin(b)), last = cellOf(a.cwiseMax(b));
    for (int y = first[1]; y <= last[1]; ++y)
        for (int x = first[0]; x <= last[0]; ++x) {
            const auto& cell = grid_[static_cast<std::size_t>(y * cells_[0] + x)];
            near.insert(cell.begin(), cell.end());
        }
    std::vector<std::array<double, 2>> behind;
    for (const std::uint32_t i : near) {
        const Cover& cover = covers_[i];
        double start = 0.0, end = 1.0;
        for (std::size_t k = 0; k < 3 && start < end; ++k) {
            const Vector2d& c = cover.corners[k];
            const Vector2d way = cover.corners[(k + 1) % 3] - c;
            const double length = way.norm();
            if (length == 0.0) continue;
            clip(cross(way, a - c) / length, cross(way, b - c) / length, start, end);
        }
        const auto over = [&](const Vector2d& p, double depth) {
            return cover.slope.dot(p) + cover.at - depth - tolerance::kInside_mm;
        };
        if (start < end) clip(over(a, depthA), over(b, depthB), start, end);
        if (start < end) behind.push_back({start, end});
    }
    std::sort(behind.begin(), behind.end());
    const double shortest = tolerance::kInside_mm / (b - a).norm();
    const auto add = [&](std::vector<ViewEdge>& list, double s, double e) {
        if (e - s > shortest) list.push_back({a + s * (b - a), a + e * (b - a)});
    };
    double done = 0.0;
    for (std::size_t i = 0; i < behind.size();) {
        double start = behind[i][0], end = behind[i][1];
        for (++i; i < behind.size() && behind[i][0] <= end + shortest; ++i)
            end = std::max(end, behind[i][1]);
        add(visible, done, start);
        add(hidden, std::max(done, start), end);
        done = std::max(done, end);
    }
    add(visible, done, 1.0);
}

bool HiddenLines::seen(const Vector3d& point) const {
    const Vector2d p = axes_.project(point);
    const double depth = axes_.toViewer().dot(point);
    const auto cell = cellOf(p);
    const auto& near = grid_[static_cast<std::size_t>(cell[1] * cells_[0] + cell[0])];
    return std::none_of(near.begin(), near.end(), [&](std::uint32_t i) {
        const Cover& cover = covers_[i];
        for (std::size_t k = 0; k < 3; ++k)
            if (cross(cover.corners[(k + 1) % 3] - cover.corners[k], p - cover.corners[k]) < 0.0)
                return false;
        return cover.slope.dot(p) + cover.at > depth + tolerance::kInside_mm;
    });
}

}  // namespace macle
