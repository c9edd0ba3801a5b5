#include "core/bench/drawn_faces.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/solid/outer_surface.h"

namespace macle {

// The design's parts as solids in mm, still in the cut frame.
std::vector<ConvexSolid> solidsInCutFrame(const Design& design, double size_mm) {
    std::vector<ConvexSolid> solids;
    for (const ConvexPart& part : design.parts) {
        solids.push_back(makeSolid(part));
        for (Eigen::Vector3d& v : solids.back().vertices)
            v *= size_mm;
    }
    return solids;
}

Box boundsOf(const std::vector<ConvexSolid>& solids) {
    Box box;
    bool first = true;
    for (const ConvexSolid& solid : solids)
        for (const Eigen::Vector3d& v : solid.vertices) {
            box.low = first ? v : box.low.cwiseMin(v).eval();
            box.high = first ? v : box.high.cwiseMax(v).eval();
            first = false;
        }
    return box;
}

namespace {

const Facet& facetUnder(const Design& design, double size_mm,
                        const std::vector<Eigen::Vector3d>& corners) {
    const Eigen::Vector3d normal = (corners[1] - corners[0]).cross(corners[2] - corners[0]);
    const Facet* best = nullptr;
    double least = 0.0;
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets) {
            if (facet.normal.dot(normal) < 0.0) continue;
            double off = 0.0;
            for (const Eigen::Vector3d& corner : corners)
                off = std::max(off, std::abs(facet.normal.dot(corner) - facet.distance * size_mm));
            if (best == nullptr || off < least) {
                best = &facet;
                least = off;
            }
        }
    require(best != nullptr, "every face of the cut belongs to a facet");
    return *best;
}

}  // namespace

std::vector<DrawnFace> drawnFaces(const Design& design, const std::vector<ConvexSolid>& solids,
                                  double size_mm) {
    std::vector<DrawnFace> faces;
    if (solids.size() == 1) {
        for (const SolidFace& face : solids[0].faces) {
            faces.push_back({&design.parts[0].facets[std::size_t(face.facet)], {}});
            for (const int corner : face.corners)
                faces.back().corners.push_back(solids[0].vertices[std::size_t(corner)]);
        }
        return faces;
    }
    const TriangleMesh surface = outerSurface(design, size_mm);
    for (const auto& t : surface.triangles) {
        DrawnFace face{nullptr,
                       {surface.vertices[t[0]], surface.vertices[t[1]], surface.vertices[t[2]]}};
        face.facet = &facetUnder(design, size_mm, face.corners);
        faces.push_back(std::move(face));
    }
    return faces;
}

}  // namespace macle
