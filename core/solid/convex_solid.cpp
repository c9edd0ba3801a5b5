#include "core/solid/convex_solid.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Exact_rational.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/convex_hull_3.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"

namespace macle {

namespace {

using Eigen::Vector3d;
using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Triple = std::array<int, 3>;  // facets, counter-clockwise from outside

// A "solid" this many times larger than its farthest facet's distance is one whose planes are
// parallel up to rounding.
constexpr double kUnboundedReach = 1e6;
constexpr std::size_t kMostParts = 10;

[[noreturn]] void unbounded() {
    throw Error(ErrorCode::NoSolution, "The facets do not enclose a solid: it runs to infinity.",
                "Add the facets that close it, or correct their angles.");
}

void checkPlanes(const std::vector<Facet>& facets) {
    for (const Facet& facet : facets) {
        if (!facet.normal.allFinite() || !std::isfinite(facet.distance))
            throw Error(ErrorCode::BadInput, "Facet \"" + facet.name + "\" is not a plane.",
                        "Its normal and distance must be finite numbers.");
        if (std::abs(facet.normal.squaredNorm() - 1.0) > tolerance::kVolumeRelative)
            throw Error(ErrorCode::BadInput,
                        "The normal of facet \"" + facet.name + "\" has length " +
                            formatExact(facet.normal.norm()) + ".",
                        "Give it length 1.");
        if (!(facet.distance > 0.0))
            throw Error(ErrorCode::NoSolution,
                        "Facet \"" + facet.name +
                            "\" leaves the centre of the cut outside (distance " +
                            formatExact(facet.distance) + ").",
                        "Every facet must lie beyond the centre; move it outward.");
    }
}

// --- The dual hull ----------------------------------------------------------------------------

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
        triangles.push_back(triple);
    }
    return triangles;
}

// --- From dual triangles to vertices ----------------------------------------------------------

struct RawVertex {
    Vector3d point;
    double sharpness;  // determinant of the unit normals: how well the three planes fix the point
};

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
RawVertex meet(const Vector3d& q0, const Vector3d& q1, const Vector3d& q2) {
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

// --- Merging ----------------------------------------------------------------------------------

class Groups {
  public:
    explicit Groups(std::size_t count) : parent_(count) {
        std::iota(parent_.begin(), parent_.end(), 0);
    }
    int root(int k) {
        while (parent_[static_cast<std::size_t>(k)] != k) {
            int& up = parent_[static_cast<std::size_t>(k)];
            up = parent_[static_cast<std::size_t>(up)];
            k = up;
        }
        return k;
    }
    void unite(int a, int b) {
        const int first = root(a);
        const int second = root(b);
        parent_[static_cast<std::size_t>(std::max(first, second))] = std::min(first, second);
    }

  private:
    std::vector<int> parent_;
};

// Walks the edges of the polygon: visit(corner, next corner).
template <class Visit>
void eachEdge(const std::vector<int>& corners, Visit visit) {
    for (std::size_t c = 0; c < corners.size(); ++c)
        visit(corners[c], corners[(c + 1) % corners.size()]);
}

// Area as seen along the plane's own normal.
template <class PointAt>
double polygonArea(const std::vector<int>& corners, const Vector3d& normal, PointAt pointAt) {
    Vector3d twice = Vector3d::Zero();
    const Vector3d origin = pointAt(corners.front());
    for (std::size_t c = 1; c + 1 < corners.size(); ++c)
        twice += (pointAt(corners[c]) - origin).cross(pointAt(corners[c + 1]) - origin);
    return 0.5 * twice.dot(normal);
}

struct Merged {
    ConvexSolid solid;
    double moved = 0.0;  // farthest any vertex was moved by merging
};

// Contracts every edge shorter than the tolerance; a face left with fewer than three corners has
// collapsed and its neighbours share the remaining edge.
Merged merge(const std::vector<RawVertex>& raw, const std::vector<std::vector<int>>& rawFaces,
             double tooShort) {
    const auto at = [&](int k) -> const RawVertex& { return raw[static_cast<std::size_t>(k)]; };
    Groups groups(raw.size());
    for (const auto& corners : rawFaces)
        eachEdge(corners, [&](int a, int b) {
            if ((at(a).point - at(b).point).norm() < tooShort) groups.unite(a, b);
        });
    std::vector<int> sharpest(raw.size(), -1);
    for (std::size_t k = 0; k < raw.size(); ++k) {
        int& best = sharpest[static_cast<std::size_t>(groups.root(static_cast<int>(k)))];
        if (best < 0 || raw[k].sharpness > at(best).sharpness) best = static_cast<int>(k);
    }

    Merged merged;
    for (std::size_t k = 0; k < raw.size(); ++k) {
        const int chosen = sharpest[static_cast<std::size_t>(groups.root(static_cast<int>(k)))];
        merged.moved = std::max(merged.moved, (raw[k].point - at(chosen).point).norm());
    }
    std::vector<int> number(raw.size(), -1);
    for (std::size_t k = 0; k < rawFaces.size(); ++k) {
        std::vector<int> corners;
        for (const int corner : rawFaces[k]) {
            const int root = groups.root(corner);
            if (corners.empty() || corners.back() != root) corners.push_back(root);
        }
        while (corners.size() > 1 && corners.front() == corners.back())
            corners.pop_back();
        if (corners.size() < 3) continue;
        SolidFace face;
        face.facet = static_cast<int>(k);
        for (const int root : corners) {
            int& index = number[static_cast<std::size_t>(root)];
            if (index < 0) {
                index = static_cast<int>(merged.solid.vertices.size());
                merged.solid.vertices.push_back(at(sharpest[static_cast<std::size_t>(root)]).point);
            }
            face.corners.push_back(index);
        }
        merged.solid.faces.push_back(std::move(face));
    }
    return merged;
}

// --- Verification -----------------------------------------------------------------------------

void verifyClosed(const ConvexSolid& solid) {
    std::map<std::pair<int, int>, int> edges;
    std::vector<int> uses(solid.vertices.size(), 0);
    for (const SolidFace& face : solid.faces)
        eachEdge(face.corners, [&](int a, int b) {
            ++edges[{a, b}];
            ++uses[static_cast<std::size_t>(a)];
        });
    for (const auto& [edge, count] : edges) {
        require(count == 1, "each edge of the solid is walked once in each direction");
        require(edges.contains({edge.second, edge.first}), "the solid is closed");
    }
    for (const int count : uses)
        require(count >= 3, "three faces meet in every vertex");
    const auto halfEdges = static_cast<long>(edges.size());
    require(static_cast<long>(solid.vertices.size() + solid.faces.size()) - halfEdges / 2 == 2,
            "the solid is one piece without holes (Euler 2)");
}

void verifyPlanes(const ConvexSolid& solid, const std::vector<Facet>& facets, double allowed) {
    for (const Vector3d& vertex : solid.vertices)
        for (const Facet& facet : facets)
            require(facet.normal.dot(vertex) - facet.distance <= allowed,
                    "every vertex of the solid satisfies every facet");
    for (const SolidFace& face : solid.faces) {
        const Facet& facet = facets[static_cast<std::size_t>(face.facet)];
        for (const int corner : face.corners)
            require(std::abs(facet.normal.dot(solid.vertices[static_cast<std::size_t>(corner)]) -
                             facet.distance) <= allowed,
                    "every corner of a face lies on its facet");
    }
}

double divergenceVolume(const ConvexSolid& solid) {
    double six = 0.0;
    const auto at = [&](int k) { return solid.vertices[static_cast<std::size_t>(k)]; };
    for (const SolidFace& face : solid.faces)
        for (std::size_t c = 1; c + 1 < face.corners.size(); ++c)
            six += at(face.corners[0]).dot(at(face.corners[c]).cross(at(face.corners[c + 1])));
    return six / 6.0;
}

}  // namespace

ConvexSolid makeSolid(const ConvexPart& part) {
    const std::vector<Facet>& facets = part.facets;
    checkPlanes(facets);
    std::vector<Vector3d> duals;
    double farthest = 0.0;
    for (const Facet& facet : facets) {
        duals.push_back(facet.normal / facet.distance);
        farthest = std::max(farthest, facet.distance);
    }

    const std::vector<Triple> triangles = dualHull(duals);
    std::vector<RawVertex> raw;
    double reach = 0.0;
    for (const Triple& t : triangles) {
        const auto dual = [&](std::size_t c) { return duals[static_cast<std::size_t>(t[c])]; };
        raw.push_back(meet(dual(0), dual(1), dual(2)));
        reach = std::max(reach, raw.back().point.norm());
    }
    if (!(reach <= kUnboundedReach * farthest)) unbounded();

    // The first volume, from planes and areas before any merging: exact for the planes as given.
    const std::vector<std::vector<int>> rawFaces = facesFromHull(triangles, facets.size());
    const auto rawPoint = [&](int k) { return raw[static_cast<std::size_t>(k)].point; };
    double volume = 0.0;
    for (std::size_t k = 0; k < facets.size(); ++k)
        if (!rawFaces[k].empty())
            volume +=
                facets[k].distance * polygonArea(rawFaces[k], facets[k].normal, rawPoint) / 3.0;

    const double scale = std::max(1.0, reach);
    Merged merged = merge(raw, rawFaces, tolerance::kMergeVertex_mm * scale);
    ConvexSolid solid = std::move(merged.solid);
    const auto point = [&](int k) { return solid.vertices[static_cast<std::size_t>(k)]; };
    double surface = 0.0;
    for (SolidFace& face : solid.faces) {
        face.area =
            polygonArea(face.corners, facets[static_cast<std::size_t>(face.facet)].normal, point);
        surface += face.area;
    }
    verifyClosed(solid);
    verifyPlanes(solid, facets, tolerance::kOnPlane_mm * scale);
    const double difference = std::abs(divergenceVolume(solid) - volume);
    require(
        volume > 0.0 && difference <= tolerance::kVolumeRelative * volume + merged.moved * surface,
        "two ways of computing the volume agree");
    solid.volume = volume;
    return solid;
}

std::vector<std::string> vanishedFacets(const Design& design) {
    std::vector<std::string> names;
    for (const ConvexPart& part : design.parts) {
        std::vector<bool> bounds(part.facets.size(), false);
        for (const SolidFace& face : makeSolid(part).faces)
            bounds[static_cast<std::size_t>(face.facet)] = true;
        for (std::size_t k = 0; k < part.facets.size(); ++k)
            if (!bounds[k]) names.push_back(part.facets[k].name);
    }
    return names;
}

ConvexSolid placed(const ConvexSolid& solid, const Placement& placement) {
    if (!(placement.size_mm > 0.0) || !std::isfinite(placement.size_mm))
        throw Error(ErrorCode::BadUsage,
                    "The size of a placement is " + formatExact(placement.size_mm) + " mm.",
                    "Give a size above zero.");
    if (!placement.translation_mm.allFinite() ||
        !(std::abs(placement.rotation.norm() - 1.0) <= tolerance::kVolumeRelative))
        throw Error(ErrorCode::BadUsage,
                    "The placement does not describe a turn and a shift (quaternion of length " +
                        formatExact(placement.rotation.norm()) + ").",
                    "Give a quaternion of length 1 and a finite shift.");
    const Eigen::Matrix3d turn = placement.rotation.toRotationMatrix();
    const double size = placement.size_mm;
    ConvexSolid result = solid;
    for (Vector3d& vertex : result.vertices)
        vertex = turn * (size * vertex) + placement.translation_mm;
    for (SolidFace& face : result.faces)
        face.area *= size * size;
    result.volume *= size * size * size;
    return result;
}

TriangleMesh triangulated(const ConvexSolid& solid) {
    TriangleMesh mesh;
    mesh.vertices = solid.vertices;
    for (const SolidFace& face : solid.faces)
        for (std::size_t c = 1; c + 1 < face.corners.size(); ++c)
            mesh.triangles.push_back({static_cast<std::uint32_t>(face.corners[0]),
                                      static_cast<std::uint32_t>(face.corners[c]),
                                      static_cast<std::uint32_t>(face.corners[c + 1])});
    return mesh;
}

double designVolume(const Design& design) {
    const std::size_t count = design.parts.size();
    if (count == 0 || count > kMostParts)
        throw Error(ErrorCode::BadUsage,
                    "The cut \"" + design.cut + "\" has " + std::to_string(count) + " parts.",
                    "Give it 1 to " + std::to_string(kMostParts) + " parts.");
    double volume = 0.0;
    for (unsigned subset = 1; subset < (1u << count); ++subset) {
        ConvexPart common;
        bool odd = false;
        for (std::size_t k = 0; k < count; ++k) {
            if ((subset >> k & 1u) == 0) continue;
            odd = !odd;
            const auto& facets = design.parts[k].facets;
            common.facets.insert(common.facets.end(), facets.begin(), facets.end());
        }
        const double shared = makeSolid(common).volume;
        volume += odd ? shared : -shared;
    }
    return volume;
}

}  // namespace macle
