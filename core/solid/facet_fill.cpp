#include "core/solid/facet_fill.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <algorithm>
#include <map>
#include <unordered_map>

namespace macle {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;

struct FaceInfo {
    bool seen = false;
    bool inside = false;
};

using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<std::uint32_t, Kernel>;
using FaceBase = CGAL::Constrained_triangulation_face_base_2<
    Kernel, CGAL::Triangulation_face_base_with_info_2<FaceInfo, Kernel>>;
using Triangulation = CGAL::Constrained_Delaunay_triangulation_2<
    Kernel, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>,
    CGAL::No_constraint_intersection_requiring_constructions_tag>;

using Net = std::map<std::pair<std::uint32_t, std::uint32_t>, int>;  // low < high; + low to high

}  // namespace

std::optional<std::vector<std::array<std::uint32_t, 3>>> fillBorder(
    const std::vector<std::pair<std::uint32_t, Eigen::Vector2d>>& places,
    const std::vector<BorderEdge>& border) {
    // Edges walked both ways bound nothing.
    Net net;
    for (const BorderEdge& edge : border)
        net[std::minmax(edge.from, edge.to)] += edge.from < edge.to ? 1 : -1;

    std::unordered_map<std::uint32_t, Eigen::Vector2d> placeOf(places.begin(), places.end());
    std::unordered_map<std::uint32_t, Triangulation::Vertex_handle> handleOf;
    Triangulation triangulation;
    const auto insert = [&](std::uint32_t number) -> Triangulation::Vertex_handle {
        const auto known = handleOf.find(number);
        if (known != handleOf.end()) return known->second;
        const Eigen::Vector2d& p = placeOf.at(number);
        const auto before = triangulation.number_of_vertices();
        const auto handle = triangulation.insert(Kernel::Point_2(p.x(), p.y()));
        if (triangulation.number_of_vertices() == before) return {};  // two numbers, one place
        handle->info() = number;
        return handleOf[number] = handle;
    };
    try {
        for (const auto& [ends, count] : net) {
            if (count == 0) continue;
            if (count > 1 || count < -1) return std::nullopt;
            for (const std::uint32_t end : {ends.first, ends.second})
                if (insert(end) == Triangulation::Vertex_handle()) return std::nullopt;
        }
        for (const auto& [ends, count] : net)
            if (count != 0) {
                triangulation.insert_constraint(handleOf.at(ends.first), handleOf.at(ends.second));
                // A constraint through a third vertex is split there; the other side of the
                // border would not be.
                if (!triangulation.is_edge(handleOf.at(ends.first), handleOf.at(ends.second)))
                    return std::nullopt;
            }
    } catch (const Triangulation::Intersection_of_constraints_exception&) {
        return std::nullopt;
    }

    std::vector<std::array<std::uint32_t, 3>> triangles;
    if (triangulation.dimension() < 2) return triangles;
    std::vector<Triangulation::Face_handle> open = {triangulation.infinite_face()};
    open.front()->info() = {true, false};
    while (!open.empty()) {
        const Triangulation::Face_handle face = open.back();
        open.pop_back();
        for (int i = 0; i < 3; ++i) {
            const Triangulation::Face_handle next = face->neighbor(i);
            const bool inside = face->info().inside != face->is_constrained(i);
            if (next->info().seen) {
                if (next->info().inside != inside) return std::nullopt;
                continue;
            }
            next->info() = {true, inside};
            open.push_back(next);
        }
    }
    for (const auto face : triangulation.finite_face_handles()) {
        if (!face->info().inside) continue;
        std::array<std::uint32_t, 3> triangle{};
        for (int i = 0; i < 3; ++i)
            triangle[static_cast<std::size_t>(i)] = face->vertex(i)->info();
        // The region lies on the left of its border.
        for (std::size_t i = 0; i < 3; ++i) {
            const std::uint32_t a = triangle[i];
            const std::uint32_t b = triangle[(i + 1) % 3];
            const auto edge = net.find(std::minmax(a, b));
            if (edge != net.end() && edge->second != 0 && (edge->second > 0) != (a < b))
                return std::nullopt;
        }
        triangles.push_back(triangle);
    }
    return triangles;
}

}  // namespace macle
