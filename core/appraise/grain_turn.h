// Grain turn: turning the cut about its axis so that its facets keep away from the octahedral
// planes, and what that costs in weight. The table stays as it lies in the crystal.
#pragma once

#include <vector>

#include "core/appraise/grain.h"
#include "core/base/progress.h"
#include "core/fit/gauge.h"

namespace macle {

struct GrainTurn {
    double turn_deg = 0.0;   // counter-clockwise seen from the table, from the present placement
    double worst_deg = 0.0;  // least angle of a polished facet to an octahedral plane
    std::string worstFacet;
    int warned = 0;
    double kept_ct = 0.0;    // weight with the middle kept
    double weight_ct = 0.0;  // and with the middle moved to the best place near it
    Placement placement;
};

struct GrainTurns {
    std::vector<GrainTurn> turns;  // evenly over one turn of the cut upon itself; the first is 0
    int advised = 0;               // index: the heaviest of those with the fewest facets warned of
    double gains_ct = 0.0;  // advised less the present, both with the middle moved; below 0: costs
    Reasons reasons;
};

inline constexpr int kMostGrainTurns = 720;

// `step_deg` at most between turns; `gauge` holds the design. The weight is the cut's own, at its
// largest at each turn. Throws Error{BadUsage} for a step that is not above zero or gives more
// than kMostGrainTurns, and what turnedFits and readGrain throw.
GrainTurns turnAgainstGrain(const CrystalAxes& axes, const Gauge& gauge, const Placement& placement,
                            double density_g_cm3, double step_deg, const GrainRules& rules = {},
                            Progress* progress = nullptr);

}  // namespace macle
