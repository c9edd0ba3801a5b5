// Small bodies inside a stone as light meets them. Cut frame, mm.
//
// The model is plain and an estimate: a body takes the share `opacity` of the power of every
// stretch of a ray that touches it (1 stops it) and does not turn the rest aside. What a real
// inclusion scatters forward is thus lost, what it mirrors is not shown.
#pragma once

#include <Eigen/Core>
#include <variant>
#include <vector>

#include "core/cut/placement.h"
#include "core/stone/defect.h"

namespace macle {

class BodyInside {
  public:
    using Shape = std::variant<TriangleMesh, Ellipsoid, Sheet>;

    // Throws Error{BadInput} for an empty mesh, half-axes not above zero, a sheet of fewer than
    // three corners or whose corners leave their plane, Error{BadUsage} for an opacity outside
    // 0..1.
    explicit BodyInside(Shape shape, double opacity = 1.0);

    double opacity() const { return opacity_; }
    const Eigen::Vector3d& centre_mm() const { return centre_; }
    double radius_mm() const { return radius_; }  // of a ball around the centre that holds it all

    // Whether the stretch origin + t * direction, 0 <= t <= length, touches it. `direction` of
    // length 1. A stretch that starts inside touches it.
    bool touches(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction,
                 double length_mm) const;
    // Distance of the centre from the stretch.
    double centreDistance_mm(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction,
                             double length_mm) const;

  private:
    Shape shape_;
    double opacity_;
    Eigen::Vector3d centre_;
    double radius_ = 0.0;
    Eigen::Matrix3d toBall_;  // ellipsoid: on to the ball of radius 1
    std::vector<std::array<Eigen::Vector3d, 3>> triangles_;  // mesh and sheet: corner, two edges
    bool closed_ = false;
};

// A defect of the stone in the frame of a cut at its placement, mm.
BodyInside::Shape inCutFrame(const Defect& defect, const Placement& placement);

// As a defect's kind is seen by common practice, no source: how much of the light it takes.
double usualOpacity(DefectKind kind);

}  // namespace macle
