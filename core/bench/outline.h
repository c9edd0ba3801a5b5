// Outline: the contour of a surface's shadow in one direction, for the views of the plan sheet.
//
// Method: along each line of a fine grid the shadow is the exact union of the triangles' shadows;
// the contour is traced from cell to cell (marching squares), so every traced point lies on the
// true contour and only what happens within one grid cell is lost. Grid step s: 1/256 of the
// shadow's larger extent but at most 0.005 mm, and never less than 1/4096 of it. A straight or
// curved run is right to 0.71 s + 0.004 mm, that is 0.018 mm up to 80 mm across; a corner of angle
// a may be cut short by s / (2 tan(a/2)), which is below 0.02 mm for every corner over 15 degrees
// in stones up to 20 mm across.
// Thread contract: pure functions.
#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "core/stone/mesh.h"

namespace macle {

// A view in three dimensions: two unit vectors at right angles; the viewer sits at right x up.
struct ViewAxes {
    Eigen::Vector3d right;
    Eigen::Vector3d up;
    Eigen::Vector3d toViewer() const { return right.cross(up); }
    Eigen::Vector2d project(const Eigen::Vector3d& p) const { return {right.dot(p), up.dot(p)}; }
};

using OutlineLoop = std::vector<Eigen::Vector2d>;

// Closed loops, largest first: counter-clockwise around the shadow, clockwise around holes in it.
// Open surfaces are allowed. A shadow thinner than four grid steps (a crack seen edge-on) is given
// as its convex hull, which may be just two points.
std::vector<OutlineLoop> outlineOf(const TriangleMesh& mesh, const ViewAxes& view);

}  // namespace macle
