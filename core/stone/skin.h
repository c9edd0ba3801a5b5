// Inside the intake: how the triangles of a welded surface hang together.
// Private to core/stone; other folders use intake.h.
//
// Half-edge h = 3 * triangle + k runs from corner k to corner k + 1 of its triangle.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/stone/mesh.h"

namespace macle::skin {

// More triangles than this would overflow the half-edge numbers.
inline constexpr std::size_t kMostTriangles = std::size_t{1} << 30;

// Long loops call this with their step; it looks at `progress` every so often.
inline void poll(const Progress* progress, std::size_t step) {
    if (progress && step % (std::size_t{1} << 14) == 0) progress->throwIfCancelled();
}

inline std::uint32_t nextInTriangle(std::uint32_t h) {
    return h % 3 == 2 ? h - 2 : h + 1;
}
inline std::uint32_t fromVertex(const TriangleMesh& mesh, std::uint32_t h) {
    return mesh.triangles[h / 3][h % 3];
}
inline std::uint32_t toVertex(const TriangleMesh& mesh, std::uint32_t h) {
    return fromVertex(mesh, nextInTriangle(h));
}
inline Eigen::Vector3d middleOf(const TriangleMesh& mesh, std::uint32_t h) {
    return 0.5 * (mesh.vertices[fromVertex(mesh, h)] + mesh.vertices[toVertex(mesh, h)]);
}

// Which vertices some triangle names.
std::vector<bool> usedVertices(const TriangleMesh& mesh, Progress* progress);

// Points nearer than `distance_mm` to an earlier one become that one; points not in `used` are
// left out. Linear time.
struct Welded {
    TriangleMesh mesh;
    long long merged = 0;  // vertices that became another
};
Welded weld(const TriangleMesh& raw, const std::vector<bool>& used, double distance_mm,
            Progress* progress);

// Undirected edges, numbered by their lower and then their higher vertex.
struct Edges {
    std::vector<std::uint32_t> edgeOf;  // per half-edge
    std::vector<std::uint32_t> uses;    // per edge, the number of triangles at it
};
Edges findEdges(const TriangleMesh& mesh, Progress* progress);

// The other half-edge of each edge. Needs exactly two uses of every edge.
std::vector<std::uint32_t> findTwins(const Edges& edges);

// Shells connected across edges, made to agree in orientation with their first triangle.
struct Shells {
    int count = 0;
    std::vector<int> shellOf;  // per triangle, numbered by first triangle
    std::vector<bool> turned;  // per triangle
    long long oneSided = -1;   // a triangle where no orientation agrees, or -1
};
Shells findShells(const TriangleMesh& mesh, const std::vector<std::uint32_t>& twins,
                  Progress* progress);

// Vertices where the skin pinches: their triangles form more than one fan. Needs a closed surface
// of one orientation.
std::vector<std::uint32_t> pinchedVertices(const TriangleMesh& mesh,
                                           const std::vector<std::uint32_t>& twins);

// No higher above its longest side than `height_mm`.
bool isSliver(const TriangleMesh& mesh, std::uint32_t triangle, double height_mm);

// Turns the longest edge of every sliver over to the far corner of its neighbour; as the sliver
// covers nothing, the skin stays where it is. Needs a closed surface of one orientation; updates
// `twins`. Returns the slivers that could not be dissolved.
std::vector<std::uint32_t> dissolveSlivers(TriangleMesh& mesh, std::vector<std::uint32_t>& twins,
                                           double height_mm, Progress* progress);

// Drops vertices that no triangle uses; returns how many.
long long dropUnusedVertices(TriangleMesh& mesh);

// Pairs of triangles that cross or touch where they should not, by exact predicates.
struct Touching {
    long long pairs = 0;
    bool more = false;                    // the search ended at kMostPairs
    std::vector<Eigen::Vector3d> places;  // up to 20
};
inline constexpr long long kMostPairs = 1000;
Touching findTouching(const TriangleMesh& mesh, Progress* progress);

}  // namespace macle::skin
