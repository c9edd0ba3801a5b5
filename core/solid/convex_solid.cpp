#include "core/solid/convex_solid.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/solid/exact_solid.h"
#include "core/solid/plane_clip.h"
#include "core/solid/polygon.h"

namespace macle {

namespace {

using Eigen::Vector3d;

constexpr std::size_t kMostParts = 10;

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

// What keeps the faces from closing to one body, or nothing.
const char* gapIn(const ConvexSolid& solid) {
    // Half edges in buckets by the vertex they leave.
    std::vector<std::size_t> first(solid.vertices.size() + 1, 0);
    for (const SolidFace& face : solid.faces)
        for (const int corner : face.corners)
            ++first[static_cast<std::size_t>(corner) + 1];
    for (std::size_t v = 0; v < solid.vertices.size(); ++v) {
        if (first[v + 1] < 3) return "three faces meet in every vertex";
        first[v + 1] += first[v];
    }
    std::vector<int> target(first.back());
    std::vector<std::size_t> next(first.begin(), first.end() - 1);
    for (const SolidFace& face : solid.faces)
        eachEdge(face.corners,
                 [&](int a, int b) { target[next[static_cast<std::size_t>(a)]++] = b; });
    const auto edgesFromTo = [&](int a, int b) {
        const auto begin = target.begin();
        const auto v = static_cast<std::size_t>(a);
        return std::count(begin + static_cast<std::ptrdiff_t>(first[v]),
                          begin + static_cast<std::ptrdiff_t>(first[v + 1]), b);
    };
    bool paired = true;
    for (const SolidFace& face : solid.faces)
        eachEdge(face.corners, [&](int a, int b) {
            paired = paired && a != b && edgesFromTo(a, b) == 1 && edgesFromTo(b, a) == 1;
        });
    if (!paired) return "each edge of the solid is walked once in each direction";
    if (solid.vertices.size() + solid.faces.size() != first.back() / 2 + 2)
        return "the solid is one piece without holes (Euler 2)";
    return nullptr;
}

double divergenceVolume(const ConvexSolid& solid) {
    double six = 0.0;
    const auto at = [&](int k) -> const Vector3d& {
        return solid.vertices[static_cast<std::size_t>(k)];
    };
    for (const SolidFace& face : solid.faces)
        for (std::size_t c = 1; c + 1 < face.corners.size(); ++c)
            six += at(face.corners[0]).dot(at(face.corners[c]).cross(at(face.corners[c + 1])));
    return six / 6.0;
}

SolidDraft draftOf(ClippedSolid clipped, const std::vector<Facet>& facets) {
    SolidDraft draft;
    draft.volume = volumeByAreas(facets, clipped.faces, clipped.vertices);
    draft.solid.vertices = std::move(clipped.vertices);
    for (std::size_t k = 0; k < facets.size(); ++k)
        if (!clipped.faces[k].empty())
            draft.solid.faces.push_back({static_cast<int>(k), std::move(clipped.faces[k]), 0.0});
    return draft;
}

// Sets areas and volume, and says which check fails, or nothing.
const char* finish(SolidDraft& draft, const std::vector<Facet>& facets) {
    double surface = 0.0;
    for (SolidFace& face : draft.solid.faces) {
        const Facet& facet = facets[static_cast<std::size_t>(face.facet)];
        face.area = polygonArea(face.corners, facet.normal, draft.solid.vertices);
        surface += face.area;
    }
    if (const char* gap = gapIn(draft.solid)) return gap;
    const double difference = std::abs(divergenceVolume(draft.solid) - draft.volume);
    const double allowed = tolerance::kVolumeRelative * draft.volume + draft.moved * surface;
    if (!(draft.volume > 0.0 && difference <= allowed))
        return "two ways of computing the volume agree";
    draft.solid.volume = draft.volume;
    return nullptr;
}

}  // namespace

ConvexSolid makeSolid(const ConvexPart& part) {
    const std::vector<Facet>& facets = part.facets;
    checkPlanes(facets);
    if (auto clipped = clipByPlanes(facets)) {
        SolidDraft draft = draftOf(*std::move(clipped), facets);
        if (!finish(draft, facets)) return std::move(draft.solid);
    }
    SolidDraft draft = exactSolid(facets);
    const char* failed = finish(draft, facets);
    require(!failed, failed ? failed : "");
    return std::move(draft.solid);
}

std::vector<std::string> vanishedFacets(const Design& design) {
    std::set<std::string> bounding;
    for (const ConvexPart& part : design.parts)
        for (const SolidFace& face : makeSolid(part).faces)
            bounding.insert(part.facets[static_cast<std::size_t>(face.facet)].name);
    std::vector<std::string> names;
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets)
            if (bounding.insert(facet.name).second) names.push_back(facet.name);
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
