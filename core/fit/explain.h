// Explain: what holds a placement where it is, and what each thing that holds it costs.
//
// At a local optimum the size is a weighted mean of what the contacts allow; the weights are the
// multipliers of the linear programme of the last step. A contact that gave way by a little would
// let the size grow by its weight times its slope: that is its rate.
#pragma once

#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/fit/search.h"

namespace macle {

struct FitHold {
    FitLimit limit;
    Eigen::Vector3d outward;       // unit, stone frame: the way in which the cut cannot grow there
    double share = 0.0;            // of what holds the size, 0 .. 1
    double gain_mm3_per_mm = 0.0;  // of the cut's volume, for a little of the obstacle giving way
};

// A defect that holds the placement, and the best one found near it with that defect permitted.
struct DefectCost {
    int defect = -1;  // index into the stone's
    std::string name;
    double gain_mm3 = 0.0;  // of the cut's volume
    Placement then;
};

struct Explanation {
    std::vector<FitHold> holds;  // largest share first
    // The shares sum to less than 1 where the placement is free to move, and `free` is then true:
    // a settle would let it grow.
    bool free = false;
    std::vector<DefectCost> defects;  // dearest first
};

// Holds only. The placement's size is not used, only its pose. Throws Error{BadInput} when the
// middle lies outside the rough or in a forbidden defect; errors of makeSolid.
Explanation explain(const Gauge& gauge, const Placement& placement);

// And what permitting each defect that holds it would be worth: a search of `options` from this
// placement for each, which only says what was found, not what is possible. `stone` is that of the
// gauge.
Explanation explain(const Stone& stone, const Gauge& gauge, const Placement& placement,
                    const FitOptions& options, Progress* progress = nullptr);

}  // namespace macle
