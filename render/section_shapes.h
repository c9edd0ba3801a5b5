// Where a plane cuts a surface: the outline, and the area inside it.
#pragma once

#include <vector>

#include "core/solid/convex_solid.h"
#include "render/poly_data.h"

namespace macle::render {

struct CutPlane {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // unit
    double offset_mm = 0.0;
};

struct SectionShape {
    TriangleMesh area;
    std::vector<Segment> outline;
};

// A closed mesh; of an open one (a sheet) only the outline.
SectionShape cutMesh(const TriangleMesh& mesh, const CutPlane& plane);

// The outline alone.
std::vector<Segment> meshOutline(const TriangleMesh& mesh, const CutPlane& plane);

// The union of convex parts in the stone frame: no outline inside another part.
SectionShape cutParts(const std::vector<ConvexSolid>& parts, const CutPlane& plane);

// Puts one surface beside another.
void append(TriangleMesh& to, const TriangleMesh& from);

}  // namespace macle::render
