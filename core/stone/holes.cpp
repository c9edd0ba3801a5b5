#include "core/stone/holes.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/triangulate_hole.h>
#include <CGAL/utility.h>

#include <algorithm>
#include <limits>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/skin.h"

namespace macle::skin {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Rim = std::vector<std::uint32_t>;  // vertices in the order of the missing triangles

constexpr std::size_t kLongestRim = 2000;  // filling is cubic in it
constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();

[[noreturn]] void refuse(const std::string& message) {
    throw Error(ErrorCode::BadInput, message, "Close the surface in the scanner's software.");
}

TriangleMesh welded(const TriangleMesh& raw, double weldRelative, Progress* progress) {
    const double extent = bounds(raw).extent().maxCoeff();
    if (raw.triangles.empty() || !(extent > 0.0)) refuse("The surface has no triangles.");
    TriangleMesh mesh =
        weld(raw, usedVertices(raw, progress), weldRelative * extent, progress).mesh;
    std::erase_if(mesh.triangles,
                  [](const auto& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; });
    return mesh;
}

// Closed chains of edges with a triangle on one side only.
std::vector<Rim> rimsOf(const TriangleMesh& mesh, Progress* progress) {
    const Edges edges = findEdges(mesh, progress);
    std::vector<std::uint32_t> next(mesh.vertices.size(), kNone);
    for (std::uint32_t h = 0; h < edges.edgeOf.size(); ++h) {
        if (edges.uses[edges.edgeOf[h]] != 1) continue;
        // A missing triangle runs along the edge the other way.
        const std::uint32_t from = toVertex(mesh, h), to = fromVertex(mesh, h);
        if (next[from] != kNone)
            refuse("Holes of the surface touch one another, so it is not clear what closes them.");
        next[from] = to;
    }
    std::vector<Rim> rims;
    for (std::uint32_t start = 0; start < next.size(); ++start) {
        if (next[start] == kNone) continue;
        Rim rim;
        for (std::uint32_t v = start; next[v] != kNone;) {
            rim.push_back(v);
            const std::uint32_t following = next[v];
            next[v] = kNone;
            v = following;
            if (v != start && next[v] == kNone)
                refuse("The edge of a hole does not run round it; triangles there face both ways.");
        }
        rims.push_back(std::move(rim));
    }
    return rims;
}

Eigen::Vector3d middleOf(const TriangleMesh& mesh, const Rim& rim) {
    Eigen::Vector3d sum = Eigen::Vector3d::Zero();
    for (const std::uint32_t v : rim)
        sum += mesh.vertices[v];
    return sum / static_cast<double>(rim.size());
}

}  // namespace

std::vector<Eigen::Vector3d> openRims(const TriangleMesh& raw, double weldRelative,
                                      Progress* progress) {
    constexpr std::size_t kMost = 1000;
    std::vector<Eigen::Vector3d> places;
    try {
        const TriangleMesh mesh = welded(raw, weldRelative, progress);
        for (const Rim& rim : rimsOf(mesh, progress))
            if (places.size() < kMost) places.push_back(middleOf(mesh, rim));
    } catch (const Error& fault) {
        if (fault.code() != ErrorCode::BadInput) throw;
    }
    return places;
}

Finding closeHoles(TriangleMesh& raw, double weldRelative, Progress* progress) {
    TriangleMesh mesh = welded(raw, weldRelative, progress);
    Finding line{"holes", 0, "none needed", {}};
    double area_mm2 = 0.0;
    for (const Rim& rim : rimsOf(mesh, progress)) {
        if (progress) progress->throwIfCancelled();
        if (rim.size() > kLongestRim)
            refuse("A hole has " + std::to_string(rim.size()) + " edges, too many to close here.");
        std::vector<Kernel::Point_3> points;
        for (const std::uint32_t v : rim)
            points.emplace_back(mesh.vertices[v].x(), mesh.vertices[v].y(), mesh.vertices[v].z());
        std::vector<CGAL::Triple<int, int, int>> patch;
        if (rim.size() >= 3)
            CGAL::Polygon_mesh_processing::triangulate_hole_polyline(points,
                                                                     std::back_inserter(patch));
        if (patch.empty()) refuse("A hole of the surface cannot be closed by triangles.");
        for (const auto& t : patch) {
            std::array<std::uint32_t, 3> corners = {rim[static_cast<std::size_t>(t.first)],
                                                    rim[static_cast<std::size_t>(t.second)],
                                                    rim[static_cast<std::size_t>(t.third)]};
            // Along the rim: the corners of a patch come in the order of the points or against it.
            const int forward = (t.first < t.second) + (t.second < t.third) + (t.third < t.first);
            if (forward < 2) std::swap(corners[1], corners[2]);
            const Eigen::Vector3d &a = mesh.vertices[corners[0]], &b = mesh.vertices[corners[1]],
                                  &c = mesh.vertices[corners[2]];
            area_mm2 += 0.5 * (b - a).cross(c - a).norm();
            mesh.triangles.push_back(corners);
        }
        ++line.count;
        if (line.places.size() < 20) line.places.push_back(middleOf(mesh, rim));
    }
    if (line.count > 0)
        line.action = "closed with " + formatFixed(area_mm2, 3) + " mm2 of new surface, as asked";
    raw = std::move(mesh);
    return line;
}

}  // namespace macle::skin
