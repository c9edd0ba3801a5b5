// Turn fit: how large a design can be when it is turned about its own axis, the direction of the
// axis kept: first with its middle kept too, then with the middle moved to the best place near it.
#pragma once

#include <vector>

#include "core/base/progress.h"
#include "core/cut/placement.h"
#include "core/fit/gauge.h"

namespace macle {

struct TurnedFit {
    double turn_deg = 0.0;  // counter-clockwise seen from the table
    double kept_mm = 0.0;   // largest size with the middle where it was
    Placement placement;    // turned, the middle moved, at its largest there; never below kept_mm
};

// One for each turn, in their order. Only the pose of `start` counts, not its size. Throws
// Error{NoSolution} when the middle is not admissible, Error{BadUsage} for a rotation that is none,
// Error{Cancelled}.
std::vector<TurnedFit> turnedFits(const Gauge& gauge, const Placement& start,
                                  const std::vector<double>& turns_deg,
                                  Progress* progress = nullptr);

}  // namespace macle
