#include "core/bench/plane_section.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <unordered_map>

#include "core/base/error.h"
#include "core/base/tolerance.h"

namespace macle {

using Eigen::Vector3d;

namespace {

// Where the edge between a and b meets the plane; the same for a-b and b-a.
Vector3d crossing(const TriangleMesh& skin, const std::vector<double>& height, std::uint32_t a,
                  std::uint32_t b) {
    if (a > b) std::swap(a, b);
    const double share = height[a] / (height[a] - height[b]);
    return skin.vertices[a] + share * (skin.vertices[b] - skin.vertices[a]);
}

std::uint64_t edgeKey(std::uint32_t a, std::uint32_t b) {
    return (std::uint64_t{std::min(a, b)} << 32) | std::max(a, b);
}

// A crossed triangle: entered over the edge that falls and left over the one that rises, which
// keeps the body on the left.
struct Crossed {
    std::uint32_t triangle = 0;
    std::uint64_t in = 0;  // edges
    std::uint64_t out = 0;
    Vector3d from = Vector3d::Zero();  // the crossing of `in`
};

SectionLoop withoutRests(const std::vector<Vector3d>& points, const std::vector<LoopStep>& steps) {
    SectionLoop loop;
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (points[i] == points[(i + 1) % points.size()]) continue;
        loop.points.push_back(points[i]);
        loop.steps.push_back(steps[i]);
    }
    return loop;
}

// The loops' steps cut at a side, with the corners where they leave and enter it.
struct OpenRun {
    std::vector<Vector3d> points;  // from the corner of entry to the corner of exit
    std::vector<LoopStep> steps;   // one less
};

}  // namespace

double SectionLoop::length_mm() const {
    double sum = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i)
        sum += (points[(i + 1) % points.size()] - points[i]).norm();
    return sum;
}

double SectionLoop::skin_mm() const {
    double sum = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i)
        if (steps[i].onSkin()) sum += (points[(i + 1) % points.size()] - points[i]).norm();
    return sum;
}

double SectionLoop::area_mm2(const Vector3d& normal) const {
    Vector3d twice = Vector3d::Zero();
    for (std::size_t i = 0; i < points.size(); ++i)
        twice += (points[i] - points[0]).cross(points[(i + 1) % points.size()] - points[0]);
    return 0.5 * twice.dot(normal);
}

std::vector<SectionLoop> sectionOf(const TriangleMesh& skin, const Plane& plane) {
    std::vector<double> height(skin.vertices.size());
    for (std::size_t v = 0; v < height.size(); ++v)
        height[v] = plane.heightOf(skin.vertices[v]);
    std::vector<Crossed> crossed;
    std::unordered_multimap<std::uint64_t, std::size_t> byIn;
    for (std::size_t t = 0; t < skin.triangles.size(); ++t) {
        const auto& corner = skin.triangles[t];
        const std::array<bool, 3> above = {height[corner[0]] >= 0.0, height[corner[1]] >= 0.0,
                                           height[corner[2]] >= 0.0};
        if (above[0] == above[1] && above[1] == above[2]) continue;
        Crossed one;
        one.triangle = static_cast<std::uint32_t>(t);
        for (std::size_t k = 0; k < 3; ++k) {
            const std::size_t next = (k + 1) % 3;
            if (above[k] == above[next]) continue;
            const std::uint64_t edge = edgeKey(corner[k], corner[next]);
            if (above[next]) {
                one.out = edge;
            } else {
                one.in = edge;
                one.from = crossing(skin, height, corner[k], corner[next]);
            }
        }
        byIn.emplace(one.in, crossed.size());
        crossed.push_back(one);
    }
    std::vector<bool> used(crossed.size(), false);
    std::vector<SectionLoop> loops;
    for (std::size_t start = 0; start < crossed.size(); ++start) {
        if (used[start]) continue;
        std::vector<Vector3d> points;
        std::vector<LoopStep> steps;
        std::size_t at = start;
        for (;;) {
            used[at] = true;
            points.push_back(crossed[at].from);
            steps.push_back({std::int64_t{crossed[at].triangle}, -1});
            if (crossed[at].out == crossed[start].in) break;
            // An edge joins two triangles; more only where bodies touch, and then any will do.
            auto [next, end] = byIn.equal_range(crossed[at].out);
            while (next != end && used[next->second])
                ++next;
            if (next == end)
                throw Error(ErrorCode::BadInput,
                            "The surface is open, so that a mark on it has no end.",
                            "Check it with `macle weigh`; marks need a closed surface.");
            at = next->second;
        }
        SectionLoop loop = withoutRests(points, steps);
        if (loop.length_mm() < tolerance::kOnPlane_mm) continue;
        loops.push_back(std::move(loop));
    }
    return loops;
}

std::vector<SectionLoop> clipSection(std::vector<SectionLoop> loops, const Plane& plane,
                                     const std::vector<HalfSpace>& sides) {
    for (std::size_t s = 0; s < sides.size(); ++s) {
        const HalfSpace& side = sides[s];
        const Vector3d along = plane.normal.cross(side.normal);
        const bool parallel = !(along.norm() > tolerance::kOnPlane_mm);
        std::vector<SectionLoop> kept;
        std::vector<OpenRun> runs;
        for (SectionLoop& loop : loops) {
            const std::size_t n = loop.points.size();
            std::vector<double> out(n);
            std::size_t inside = 0;
            for (std::size_t i = 0; i < n; ++i) {
                out[i] = side.normal.dot(loop.points[i]) - side.offset_mm;
                inside += out[i] <= 0.0 ? 1 : 0;
            }
            if (parallel ? out[0] <= 0.0 : inside == n) {
                kept.push_back(std::move(loop));
                continue;
            }
            if (parallel || inside == 0) continue;
            const auto cut = [&](std::size_t i) -> Vector3d {
                const std::size_t j = (i + 1) % n;
                const double share = out[i] / (out[i] - out[j]);
                return loop.points[i] + share * (loop.points[j] - loop.points[i]);
            };
            for (std::size_t i = 0; i < n; ++i) {
                if (out[i] <= 0.0 || out[(i + 1) % n] > 0.0) continue;
                OpenRun run;
                run.points.push_back(cut(i));
                run.steps.push_back(loop.steps[i]);
                std::size_t k = (i + 1) % n;
                for (; out[(k + 1) % n] <= 0.0; k = (k + 1) % n) {
                    run.points.push_back(loop.points[k]);
                    run.steps.push_back(loop.steps[k]);
                }
                run.points.push_back(loop.points[k]);
                run.steps.push_back(loop.steps[k]);
                run.points.push_back(cut(k));
                runs.push_back(std::move(run));
            }
        }
        // With the body on the left the way along a side runs in its direction, from where a run
        // leaves to where the next enters; what lies in the body there are stretches side by side.
        std::vector<std::size_t> leaving(runs.size());
        std::iota(leaving.begin(), leaving.end(), 0U);
        std::vector<std::size_t> entering = leaving;
        std::stable_sort(leaving.begin(), leaving.end(), [&](std::size_t a, std::size_t b) {
            return along.dot(runs[a].points.back()) < along.dot(runs[b].points.back());
        });
        std::stable_sort(entering.begin(), entering.end(), [&](std::size_t a, std::size_t b) {
            return along.dot(runs[a].points.front()) < along.dot(runs[b].points.front());
        });
        std::vector<std::size_t> after(runs.size());
        for (std::size_t i = 0; i < runs.size(); ++i)
            after[leaving[i]] = entering[i];
        std::vector<bool> used(runs.size(), false);
        for (std::size_t start = 0; start < runs.size(); ++start) {
            if (used[start]) continue;
            std::vector<Vector3d> points;
            std::vector<LoopStep> steps;
            for (std::size_t at = start; !used[at]; at = after[at]) {
                used[at] = true;
                points.insert(points.end(), runs[at].points.begin(), runs[at].points.end());
                steps.insert(steps.end(), runs[at].steps.begin(), runs[at].steps.end());
                steps.push_back({-1, static_cast<int>(s)});
            }
            SectionLoop loop = withoutRests(points, steps);
            if (loop.points.size() >= 2) kept.push_back(std::move(loop));
        }
        loops = std::move(kept);
    }
    return loops;
}

double distanceToTriangle(const TriangleMesh& skin, std::int64_t triangle, const Vector3d& point) {
    const auto& corner = skin.triangles[static_cast<std::size_t>(triangle)];
    const std::array<Vector3d, 3> at = {skin.vertices[corner[0]], skin.vertices[corner[1]],
                                        skin.vertices[corner[2]]};
    const Vector3d normal = (at[1] - at[0]).cross(at[2] - at[0]);
    bool within = normal.squaredNorm() > 0.0;
    double nearest2 = (point - at[0]).squaredNorm();
    for (std::size_t k = 0; k < 3; ++k) {
        const Vector3d edge = at[(k + 1) % 3] - at[k];
        const Vector3d to = point - at[k];
        within = within && normal.dot(edge.cross(to)) >= 0.0;
        const double length2 = edge.squaredNorm();
        const double share = length2 > 0.0 ? std::clamp(to.dot(edge) / length2, 0.0, 1.0) : 0.0;
        nearest2 = std::min(nearest2, (to - share * edge).squaredNorm());
    }
    if (within) return std::abs(normal.normalized().dot(point - at[0]));
    return std::sqrt(nearest2);
}

}  // namespace macle
