// Which lines to draw: between different facets, never across one.
#pragma once

#include <vector>

#include "core/cut/placement.h"
#include "core/solid/convex_solid.h"
#include "render/poly_data.h"

namespace macle::render {

struct FacetEdge {
    Segment line;
    Eigen::Vector3d normal;       // of the face on one side
    Eigen::Vector3d otherNormal;  // and on the other
    // False between neighbouring girdle flats of a rounded outline, which are one band to the eye:
    // such an edge is a line only where it is the outline.
    bool drawnInside = true;
};

// Edges of the union of the parts: of each part what lies outside the others, and the seams where
// the parts cross. Cut frame (the girdle is known by its direction).
std::vector<FacetEdge> facetEdges(const std::vector<ConvexSolid>& parts);

// What of the segments of one part lies outside all the others.
std::vector<Segment> outsideOthers(const std::vector<Segment>& segments,
                                   const std::vector<ConvexSolid>& parts, std::size_t own);

// The finished stone's triangles told apart: on a facet of the placed design, or left of the skin.
struct FinishedSurface {
    TriangleMesh facets;           // corners repeated per facet, so that shading stays flat
    TriangleMesh skin;             // corners shared, so that shading is smooth
    std::vector<FacetEdge> edges;  // facet against facet, and facet against skin
};
// Without parts, triangles that share a plane with a neighbour count as facets.
FinishedSurface splitFinished(const TriangleMesh& mesh, const std::vector<ConvexSolid>& parts,
                              const Placement& placement);

}  // namespace macle::render
