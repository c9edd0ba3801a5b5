// Direct manipulation of the cut: what a movement of the pointer means for the placement.
// Pure functions over the camera of the moment. Stone frame, mm; pointer in pixels, y down.
#pragma once

#include <Eigen/Geometry>

#include "core/cut/design.h"
#include "core/cut/placement.h"

namespace macle::app {

// The camera as the hand sees it.
struct Sight {
    Eigen::Vector3d eye_mm = Eigen::Vector3d::Zero();
    Eigen::Vector3d right = Eigen::Vector3d::UnitX();
    Eigen::Vector3d up = Eigen::Vector3d::UnitY();
    Eigen::Vector3d ahead = -Eigen::Vector3d::UnitZ();  // away from the viewer
    bool parallel = false;
    double halfHeight = 1.0;  // parallel: mm; perspective: tangent of half the opening angle
    double width_px = 1.0;
    double height_px = 1.0;
};

struct Ray {
    Eigen::Vector3d origin_mm;
    Eigen::Vector3d direction;  // unit
};

Ray rayThrough(const Sight& sight, double x_px, double y_px);

// Length at the depth of `point_mm` that covers one pixel. mm.
double millimetresPerPixel(const Sight& sight, const Eigen::Vector3d& point_mm);

// Whether the ray meets the placed design.
bool meets(const Ray& ray, const Design& design, const Placement& placement);

// The pointer moved by (dx, dy): the cut turns with it about its centre, half a turn across the
// view.
Placement turned(const Placement& placement, const Sight& sight, double dx_px, double dy_px);
Placement turnedAbout(const Placement& placement, const Eigen::Vector3d& axis, double angle_deg);
// About the cut's own axis.
Placement spun(const Placement& placement, double angle_deg);
// In the plane of the view, staying under the pointer.
Placement moved(const Placement& placement, const Sight& sight, double dx_px, double dy_px);
// Never below the smallest size the window offers.
Placement sized(const Placement& placement, double size_mm);

inline constexpr double kSmallestSize_mm = 0.1;
inline constexpr double kLargestSize_mm = 200.0;

}  // namespace macle::app
