#include "core/solid/facet_meets.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Exact_rational.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/convex_hull_3.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "core/base/error.h"

namespace macle {

namespace {

using Eigen::Vector3d;
using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Triple = std::array<int, 3>;  // facets, counter-clockwise from outside

// A "solid" this many times larger than its farthest facet's distance is one whose planes are
// parallel up to rounding.
constexpr double kUnboundedReach = 1e6;

[[noreturn]] void unbounded() {
    throw Error(ErrorCode::NoSolution, "The facets do not enclose a solid: it runs to infinity.",
                "Add the facets that close it, or correct their angles.");
}

bool spanSpace(const std::vector<Kernel::Point_3>& points) {
    const auto& a = points.front();
    std::size_t i = 1;
    while (i < points.size() && points[i] == a)
        ++i;
    std::size_t j = i;
    while (j < points.size() && CGAL::collinear(a, points[i], points[j]))
        ++j;
    for (std::size_t k = j; k < points.size(); ++k)
        if (!CGAL::coplanar(a, points[i], points[j], points[k])) return true;
    return false;
}

// Triangles of the hull of the dual points, as facet indices. The origin lies strictly inside
// (exactly tested), which is the same as the solid being bounded.
std::vector<Triple> dualHull(const std::vector<Vector3d>& duals) {
    std::vector<Kernel::Point_3> points;
    std::map<std::array<double, 3>, int> facetOf;  // the first of equal planes counts
    for (std::size_t k = 0; k < duals.size(); ++k) {
        const Vector3d& q = duals[k];
        points.emplace_back(q.x(), q.y(), q.z());
        facetOf.emplace(std::array{q.x(), q.y(), q.z()}, static_cast<int>(k));
    }
    if (points.size() < 4 || !spanSpace(points)) unbounded();

    CGAL::Surface_mesh<Kernel::Point_3> hull;
    CGAL::convex_hull_3(points.begin(), points.end(), hull);

    std::vector<Triple> triangles;
    triangles.reserve(hull.number_of_faces());
    for (const auto face : hull.faces()) {
        std::array<Kernel::Point_3, 3> p;
        Triple triple{};
        std::size_t count = 0;
        for (const auto vertex : hull.vertices_around_face(hull.halfedge(face))) {
            require(count < 3, "the dual hull is triangulated");
            p[count] = hull.point(vertex);
            triple[count] = facetOf.at({p[count].x(), p[count].y(), p[count].z()});
            ++count;
        }
        require(count == 3, "the dual hull is triangulated");
        if (CGAL::orientation(p[0], p[1], p[2], Kernel::Point_3(CGAL::ORIGIN)) != CGAL::NEGATIVE)
            unbounded();
        std::rotate(triple.begin(), std::min_element(triple.begin(), triple.end()), triple.end());
        triangles.push_back(triple);
    }
    std::sort(triangles.begin(), triangles.end());  // the hull's own order is not ours to rely on
    return triangles;
}

Vector3d exactMeet(const Vector3d& q0, const Vector3d& q1, const Vector3d& q2) {
    using Number = CGAL::Exact_rational;
    const auto difference = [](const Vector3d& a, const Vector3d& b) {
        return std::array<Number, 3>{Number(a.x()) - Number(b.x()), Number(a.y()) - Number(b.y()),
                                     Number(a.z()) - Number(b.z())};
    };
    const auto u = difference(q1, q0);
    const auto v = difference(q2, q0);
    const std::array<Number, 3> n{u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2],
                                  u[0] * v[1] - u[1] * v[0]};
    const Number scale = Number(q0.x()) * n[0] + Number(q0.y()) * n[1] + Number(q0.z()) * n[2];
    return {CGAL::to_double(Number(n[0] / scale)), CGAL::to_double(Number(n[1] / scale)),
            CGAL::to_double(Number(n[2] / scale))};
}

// The point where q.x = 1 for the three duals q. Plain arithmetic where it keeps twelve digits,
// exact where the planes nearly share a line (meets by construction split into such slivers).
FacetMeet meet(const Vector3d& q0, const Vector3d& q1, const Vector3d& q2) {
    const Vector3d u = q1 - q0;
    const Vector3d v = q2 - q0;
    const Vector3d n = u.cross(v);
    const double scale = q0.dot(n);
    const double length = n.norm();
    const double reach = std::max({q0.norm(), q1.norm(), q2.norm()});
    const double sharpness = scale / (q0.norm() * q1.norm() * q2.norm());
    constexpr double kSafe = 1e-4;  // of a digit loss of four out of sixteen
    const bool safe =
        length > kSafe * reach * std::max(u.norm(), v.norm()) && scale > kSafe * reach * length;
    return {safe ? Vector3d(n / scale) : exactMeet(q0, q1, q2), sharpness};
}

// Triangles round each facet's dual point, counter-clockwise: the corners of its face.
std::vector<std::vector<int>> facesFromHull(const std::vector<Triple>& triangles,
                                            std::size_t facetCount) {
    std::map<std::pair<int, int>, int> triangleOf;  // directed edge -> triangle on its left
    std::vector<int> first(facetCount, -1);
    for (std::size_t t = 0; t < triangles.size(); ++t)
        for (std::size_t c = 0; c < 3; ++c) {
            const int from = triangles[t][c];
            const int to = triangles[t][(c + 1) % 3];
            require(triangleOf.emplace(std::pair(from, to), static_cast<int>(t)).second,
                    "each directed edge of the dual hull is used once");
            first[static_cast<std::size_t>(from)] = to;
        }
    std::vector<std::vector<int>> faces(facetCount);
    for (std::size_t k = 0; k < facetCount; ++k) {
        if (first[k] < 0) continue;
        const int self = static_cast<int>(k);
        int next = first[k];
        do {
            const auto place = triangleOf.find({self, next});
            require(place != triangleOf.end() && faces[k].size() < triangles.size(),
                    "the dual hull is closed");
            faces[k].push_back(place->second);
            const Triple& t = triangles[static_cast<std::size_t>(place->second)];
            const auto at = std::find(t.begin(), t.end(), self) - t.begin();
            next = t[static_cast<std::size_t>((at + 2) % 3)];
        } while (next != first[k]);
    }
    return faces;
}

}  // namespace

FacetMeets facetMeets(const std::vector<Facet>& facets) {
    std::vector<Vector3d> duals;
    double farthest = 0.0;
    for (const Facet& facet : facets) {
        duals.push_back(facet.normal / facet.distance);
        farthest = std::max(farthest, facet.distance);
    }
    const std::vector<Triple> triangles = dualHull(duals);
    FacetMeets result;
    result.meets.reserve(triangles.size());
    for (const Triple& t : triangles) {
        const auto dual = [&](std::size_t c) { return duals[static_cast<std::size_t>(t[c])]; };
        result.meets.push_back(meet(dual(0), dual(1), dual(2)));
        result.reach = std::max(result.reach, result.meets.back().point.norm());
    }
    if (!(result.reach <= kUnboundedReach * farthest)) unbounded();
    result.faces = facesFromHull(triangles, facets.size());
    return result;
}

}  // namespace macle
