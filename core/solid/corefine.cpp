#include "core/solid/corefine.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Surface_mesh.h>

#include <exception>

#include "core/base/error.h"

namespace macle {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using SurfaceMesh = CGAL::Surface_mesh<Kernel::Point_3>;
using VertexIndex = SurfaceMesh::Vertex_index;

SurfaceMesh toSurface(const TriangleMesh& mesh) {
    SurfaceMesh surface;
    surface.reserve(static_cast<SurfaceMesh::size_type>(mesh.vertices.size()),
                    static_cast<SurfaceMesh::size_type>(mesh.triangles.size() * 3 / 2),
                    static_cast<SurfaceMesh::size_type>(mesh.triangles.size()));
    for (const auto& v : mesh.vertices)
        surface.add_vertex({v.x(), v.y(), v.z()});
    for (const auto& t : mesh.triangles) {
        const auto face = surface.add_face(VertexIndex(t[0]), VertexIndex(t[1]), VertexIndex(t[2]));
        require(face != SurfaceMesh::null_face(), "the mesh handed to corefinement is manifold");
    }
    return surface;
}

TriangleMesh fromSurface(const SurfaceMesh& surface) {
    TriangleMesh mesh;
    std::vector<std::uint32_t> number(surface.num_vertices() +
                                      surface.number_of_removed_vertices());
    for (const VertexIndex v : surface.vertices()) {
        number[v] = static_cast<std::uint32_t>(mesh.vertices.size());
        const auto& p = surface.point(v);
        mesh.vertices.emplace_back(p.x(), p.y(), p.z());
    }
    for (const auto face : surface.faces()) {
        std::array<std::uint32_t, 3> t{};
        int corner = 0;
        for (const VertexIndex v : surface.vertices_around_face(surface.halfedge(face)))
            t[static_cast<std::size_t>(corner++)] = number[v];
        mesh.triangles.push_back(t);
    }
    return mesh;
}

}  // namespace

TriangleMesh intersectByCorefinement(const TriangleMesh& first, const TriangleMesh& second) {
    try {
        SurfaceMesh a = toSurface(first);
        SurfaceMesh b = toSurface(second);
        SurfaceMesh result;
        const bool done =
            CGAL::Polygon_mesh_processing::corefine_and_compute_intersection(a, b, result);
        require(done, "corefinement yields a manifold intersection");
        return fromSurface(result);
    } catch (const Error&) {
        throw;
    } catch (const std::exception& problem) {
        throw Error(ErrorCode::Internal,
                    std::string("The intersection of design and rough failed: ") + problem.what(),
                    "Move the design a little and try again.");
    }
}

}  // namespace macle
