// PlaneSection: where a plane meets the skin, as closed loops traced from triangle to triangle.
//
// A vertex counts as above the plane when its height over it is 0 or more, and this one sign per
// vertex decides everything: the plane acts as if it lay lower by less than any number, every
// triangle is crossed along one segment or not at all, and the segments link into loops without a
// gap whatever lies in the plane (a face, an edge, a corner). A point on an edge is computed from
// the edge's ends in one order, so that both triangles beside it get the same point. Stone frame,
// mm. Pure functions; any thread.
#pragma once

#include <cstdint>
#include <vector>

#include "core/divide/saw.h"
#include "core/stone/mesh.h"

namespace macle {

// normal . x = offset_mm; normal of length 1.
struct Plane {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();
    double offset_mm = 0.0;
    double heightOf(const Eigen::Vector3d& p) const { return normal.dot(p) - offset_mm; }
};

// From one corner of a loop to the next: across a triangle of the skin, or within one of the sides
// that bound a piece.
struct LoopStep {
    std::int64_t triangle = -1;
    int side = -1;
    bool onSkin() const { return side < 0; }
};

// Counter-clockwise about the body, clockwise about what is hollow, seen against the normal.
struct SectionLoop {
    std::vector<Eigen::Vector3d> points;
    std::vector<LoopStep> steps;  // steps[i]: from points[i] to the next
    double length_mm() const;
    double skin_mm() const;                                // of it what runs on the skin
    double area_mm2(const Eigen::Vector3d& normal) const;  // signed
};

// Throws Error{BadInput} when the surface is not closed. Loops shorter than
// tolerance::kOnPlane_mm (the plane touches a corner) are left out. O(triangles).
std::vector<SectionLoop> sectionOf(const TriangleMesh& skin, const Plane& plane);

// What of the section lies within the half-spaces, as closed loops again: where a side cuts a loop
// open it is closed along that side (step.side is its place in the list). A side parallel to the
// plane takes all or nothing.
std::vector<SectionLoop> clipSection(std::vector<SectionLoop> loops, const Plane& plane,
                                     const std::vector<HalfSpace>& sides);

// Distance from a point to a triangle of the skin.
double distanceToTriangle(const TriangleMesh& skin, std::int64_t triangle,
                          const Eigen::Vector3d& point);

}  // namespace macle
