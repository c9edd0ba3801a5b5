// Bound: a proven upper limit on the size of any placement of a design in a rough.
//
// Anytime branch and bound over rotation and centre. In each cell a linear programme in (size,
// size times rotation, centre) is solved: the placed design lies in the convex hull of the skin,
// and at surface points that matter at least one facet must stay short of the point. Rotations in
// a cell are written by their Rodrigues vector r (R = R0 (I + 2 ([r] + [r]^2) / (1 + r.r))), so
// that what the linear programme leaves out is of second order in the width of the cell. The
// value of each programme is taken from its dual multipliers, clipped to be non-negative and
// evaluated over the cell's box, which holds whatever the solver's rounding was (Neumaier and
// Shcherbina, Math. Program. 99 (2004) 283).
#pragma once

#include <optional>
#include <string>

#include "core/base/progress.h"
#include "core/cut/placement.h"
#include "core/fit/gauge.h"

namespace macle {

struct BoundOptions {
    double seconds = 60.0;         // <= 0: no limit by time
    int threads = 0;               // 0: as many as the machine has
    double incumbent_mm = 0.0;     // size of the best placement known; 0: none yet
    double targetGap_percent = 1;  // of weight; ends when reached
    long long cells = 0;           // > 0: ends after about so many cells, whatever the time
};

struct Bound {
    double size_mm = 0.0;             // no placement of the design is larger
    double incumbent_mm = 0.0;        // the larger of the one given and those met on the way
    double gap_percent = 0.0;         // of weight, from the incumbent up to the bound
    long long cells = 0;              // examined
    bool complete = false;            // the target gap is reached
    std::optional<Placement> better;  // a placement met on the way that beats the one given
    double seconds = 0.0;
    std::string certificate;  // what is proven, and under which assumptions
};

// Deterministic for a limit of cells (without one of time) at any thread count. Stopping it by
// `progress` is no error: the bound reached so far is returned, as it is by a limit of time.
// Throws Error{BadUsage} for options that make no sense, Error{NoSolution} when no placement of
// any use exists (size under 1/1000 of the rough), and the errors of makeSolid.
Bound proveBound(const Gauge& gauge, const BoundOptions& options, Progress* progress = nullptr);

}  // namespace macle
