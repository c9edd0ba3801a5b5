// Taking hold of a defect and moving it: what lies under a pointer, and the defect moved by a
// length. Stone frame, mm. Free functions; any thread.
#pragma once

#include <optional>

#include "core/stone/defect.h"

namespace macle {

// An ellipsoid or a sheet; a scanned surface stays where the scan has it.
bool canBeMoved(const Defect& defect);

// Throws Error{BadUsage} for one that cannot be moved or a length that is not finite.
Defect movedBy(Defect defect, const Eigen::Vector3d& by_mm);

// How far the point lies from the defect: 0 inside an ellipsoid; outside it the way towards its
// middle, which is never less than the shortest; exact for a sheet. Infinite for a scanned surface.
double farFrom_mm(const Defect& defect, const Eigen::Vector3d& point_mm);

// Where a line of sight comes nearest to the defect's middle plane or middle, when it passes it
// within `slack_mm`. `direction` is of unit length.
std::optional<Eigen::Vector3d> underPointer(const Defect& defect, const Eigen::Vector3d& origin_mm,
                                            const Eigen::Vector3d& direction, double slack_mm);

}  // namespace macle
