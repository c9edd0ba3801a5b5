// Core surfaces as VTK poly data. Single precision suffices for the screen (0.1 um on 1 mm).
#pragma once

#include <vtkSmartPointer.h>

#include <vector>

#include "core/solid/convex_solid.h"
#include "core/stone/mesh.h"
#include "render/palette.h"
#include "render/segment.h"

class vtkPolyData;

namespace macle::render {

// Points and triangles as they are, no normals.
vtkSmartPointer<vtkPolyData> bareSurface(const TriangleMesh& mesh);

// With point normals; creases sharper than `crease_deg` stay sharp.
vtkSmartPointer<vtkPolyData> smoothSurface(const TriangleMesh& mesh, double crease_deg);

// One flat polygon per face, each with its own corners and normal.
vtkSmartPointer<vtkPolyData> flatFaces(const std::vector<ConvexSolid>& parts);

// Straight segments, two points each.
vtkSmartPointer<vtkPolyData> segmentLines(const std::vector<Segment>& segments);

// Single points with a colour each (direct scalars).
struct ColouredPoint {
    Eigen::Vector3d at;
    Rgb colour;
};
vtkSmartPointer<vtkPolyData> pointCloud(const std::vector<ColouredPoint>& points);

}  // namespace macle::render
