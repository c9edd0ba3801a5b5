// PlaneArea: an area in a plane by its closed outline: what half-spaces leave of it, the stretches
// of a line in it, its hatch, and whether a point is in it. Stone frame, mm. Plain value; any
// thread.
#pragma once

#include <vector>

#include "core/divide/saw.h"
#include "render/section_shapes.h"

namespace macle::render {

class PlaneArea {
  public:
    PlaneArea() = default;  // empty
    // Segments in no order that close in the plane (inside is what an odd number of them encloses).
    PlaneArea(const std::vector<Segment>& outline, const CutPlane& plane);

    bool empty() const { return lines_.empty(); }
    std::vector<Segment> outline() const;

    // A half-space along the plane keeps all of it or nothing.
    PlaneArea within(const std::vector<HalfSpace>& sides) const;

    // Where another plane crosses it. Nothing for a plane along this one.
    std::vector<Segment> along(const HalfSpace& other) const;

    // Parallel lines at 45 degrees to the plane's own directions, at places that do not depend on
    // the outline. Nothing for a spacing that is not positive or gives more than kMostHatch lines.
    std::vector<Segment> hatch(double spacing_mm) const;
    static constexpr int kMostHatch = 2000;

    // Of a point on the plane.
    bool contains(const Eigen::Vector3d& point_mm) const;

  private:
    struct Line2 {
        Eigen::Vector2d from;
        Eigen::Vector2d to;
    };
    struct HalfPlane {  // normal . x <= offset_mm
        Eigen::Vector2d normal = Eigen::Vector2d::UnitX();
        double offset_mm = 0.0;
        bool crosses = false;  // false: along the plane, and offset_mm is the room it leaves
    };
    Eigen::Vector2d flat(const Eigen::Vector3d& point_mm) const;
    Segment raised(const Line2& line) const;
    HalfPlane flat(const HalfSpace& side) const;
    std::vector<Line2> stretches(const HalfPlane& line) const;  // of its border
    void clip(const HalfPlane& side);

    Eigen::Vector3d origin_ = Eigen::Vector3d::Zero();
    Eigen::Vector3d across_ = Eigen::Vector3d::UnitX();
    Eigen::Vector3d up_ = Eigen::Vector3d::UnitY();
    std::vector<Line2> lines_;
};

}  // namespace macle::render
