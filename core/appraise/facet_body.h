// FacetBody: a polished stone as the facets that can be measured on it, in the cut frame: z up
// through the table, the axis through the middle of the girdle, x along the length, z = 0 at
// mid-girdle. From a design, or from the scan of a polished stone by finding its flat regions.
#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "core/base/progress.h"
#include "core/cut/design.h"
#include "core/stone/mesh.h"

namespace macle {

struct SeenFacet {
    Eigen::Vector3d normal;  // unit, outward
    double distance_mm = 0.0;
    double area_mm2 = 0.0;
    std::vector<Eigen::Vector3d> corners_mm;  // counter-clockwise from outside
    int part = 0;                             // of a cut of several convex parts
};

struct SeenPlane {
    Eigen::Vector3d normal;
    double distance_mm = 0.0;
};

struct FacetBody {
    std::vector<SeenFacet> facets;
    // Every plane of each convex part, also one that bounds only another part.
    std::vector<std::vector<SeenPlane>> parts;
    double exact_mm = 0.0;  // two lengths nearer than this are one
    double flat_deg = 0.0;  // and two angles
};

// Throws what makeSolid throws.
FacetBody facetBody(const Design& design, double size_mm = 1.0);

// A scanned polished stone and how it lay.
struct ScannedBody {
    FacetBody body;
    Eigen::Isometry3d toCut;   // scan frame to cut frame
    double flatness_mm = 0.0;  // root mean square distance of the skin from its facets
};

// Finds the flat regions of a closed scan of a convex polished stone, turns the largest level one
// (the table) up and the longest way of the outline to x. `noise_mm`: how far the scan's points may
// lie off a facet. Linear in the triangles but for the outline; polls `progress`. Throws
// Error{BadInput} when the surface has no facets that enclose a solid.
ScannedBody scannedBody(const TriangleMesh& scan, double noise_mm, Progress* progress = nullptr);

}  // namespace macle
