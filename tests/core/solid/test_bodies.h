// Bodies for tests: convex designs and closed surfaces in closed form.
#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "core/cut/design.h"
#include "core/stone/rough.h"

namespace macle::bodies {

using Eigen::Vector3d;

inline Facet facet(const Vector3d& direction, double distance, FacetKind kind = FacetKind::Other) {
    return {"facet", kind, direction.normalized(), distance};
}

// From low to high, which must enclose the origin.
inline ConvexPart boxPart(const Vector3d& low, const Vector3d& high) {
    ConvexPart part;
    for (int axis = 0; axis < 3; ++axis) {
        part.facets.push_back(facet(Vector3d::Unit(axis), high[axis]));
        part.facets.push_back(facet(-Vector3d::Unit(axis), -low[axis]));
    }
    return part;
}

// Edge 1 for size 1.
inline Design cubeDesign() {
    Design design;
    design.cut = "cube";
    design.parts = {boxPart(Vector3d::Constant(-0.5), Vector3d::Constant(0.5))};
    return design;
}

// |x| + |y| + |z| <= 1/2 for size 1.
inline Design octahedronDesign() {
    Design design;
    design.cut = "octahedron";
    design.parts.emplace_back();
    for (int k = 0; k < 8; ++k)
        design.parts[0].facets.push_back(
            facet(Vector3d(k & 1 ? -1 : 1, k & 2 ? -1 : 1, k & 4 ? -1 : 1), 0.5 / std::sqrt(3.0)));
    return design;
}

inline TriangleMesh boxMesh(const Vector3d& low, const Vector3d& high) {
    TriangleMesh mesh;
    for (int k = 0; k < 8; ++k)
        mesh.vertices.emplace_back(k & 1 ? high.x() : low.x(), k & 2 ? high.y() : low.y(),
                                   k & 4 ? high.z() : low.z());
    mesh.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                      {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
    return mesh;
}

// |x| + |y| + |z| <= reach.
inline TriangleMesh octahedronMesh(double reach) {
    TriangleMesh mesh;
    for (int axis = 0; axis < 3; ++axis)
        for (const double sign : {1.0, -1.0})
            mesh.vertices.push_back(sign * reach * Vector3d::Unit(axis));
    mesh.triangles = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4},
                      {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
    return mesh;
}

inline TriangleMesh refined(const TriangleMesh& mesh) {
    TriangleMesh fine;
    fine.vertices = mesh.vertices;
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> middles;
    const auto middle = [&](std::uint32_t a, std::uint32_t b) {
        const auto [slot, fresh] = middles.try_emplace(
            std::minmax(a, b), static_cast<std::uint32_t>(fine.vertices.size()));
        if (fresh) fine.vertices.push_back(0.5 * (mesh.vertices[a] + mesh.vertices[b]));
        return slot->second;
    };
    for (const auto& t : mesh.triangles) {
        const std::uint32_t a = middle(t[0], t[1]);
        const std::uint32_t b = middle(t[1], t[2]);
        const std::uint32_t c = middle(t[2], t[0]);
        fine.triangles.insert(fine.triangles.end(),
                              {{t[0], a, c}, {a, t[1], b}, {c, b, t[2]}, {a, b, c}});
    }
    return fine;
}

// A star-shaped, non-convex pebble of about radius 3 mm with bumps and hollows.
inline TriangleMesh pebble(int refinement) {
    TriangleMesh mesh = octahedronMesh(1.0);
    for (int i = 0; i < refinement; ++i)
        mesh = refined(mesh);
    for (Vector3d& v : mesh.vertices) {
        const Vector3d u = v.normalized();
        v = u * (3.0 + 0.45 * std::sin(3.0 * u.x() + 1.0) * std::sin(4.0 * u.y()) +
                 0.25 * std::sin(7.0 * u.z()) + 0.02 * std::sin(31.0 * u.x() - 17.0 * u.y()));
    }
    return mesh;
}

inline TriangleMesh reversed(TriangleMesh mesh) {
    for (auto& t : mesh.triangles)
        std::swap(t[1], t[2]);
    return mesh;
}

inline TriangleMesh moved(TriangleMesh mesh, const Vector3d& by) {
    for (Vector3d& v : mesh.vertices)
        v += by;
    return mesh;
}

inline TriangleMesh together(TriangleMesh a, const TriangleMesh& b) {
    const auto base = static_cast<std::uint32_t>(a.vertices.size());
    a.vertices.insert(a.vertices.end(), b.vertices.begin(), b.vertices.end());
    for (const auto& t : b.triangles)
        a.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
    return a;
}

inline Rough rough(TriangleMesh mesh) {
    Rough made;
    made.mesh = std::move(mesh);
    made.volume_mm3 = signedVolume_mm3(made.mesh);
    return made;
}

// Every directed edge has its reverse.
inline bool closed(const TriangleMesh& mesh) {
    std::map<std::pair<std::uint32_t, std::uint32_t>, int> balance;
    for (const auto& t : mesh.triangles)
        for (std::size_t i = 0; i < 3; ++i) {
            const std::uint32_t a = t[i];
            const std::uint32_t b = t[(i + 1) % 3];
            balance[std::minmax(a, b)] += a < b ? 1 : -1;
        }
    for (const auto& [edge, count] : balance)
        if (count != 0) return false;
    return !mesh.empty();
}

}  // namespace macle::bodies
