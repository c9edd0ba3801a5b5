// Work stages: what the stone weighs after each kind of work, from the solids themselves: the rough
// below the table, within the girdle's flats, within table and main facets (blocked), and finished.
// ct. Pure; any thread.
#pragma once

#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/solid/finished_stone.h"
#include "core/stone/stone.h"

namespace macle {

struct WorkStages {
    double rough_ct = 0.0;
    double belowTable_ct = 0.0;  // what is left once all above the table is off
    double bruted_ct = 0.0;      // and all outside the girdle's flats
    double blocked_ct = 0.0;     // and all outside the main facets or steps
    double finished_ct = 0.0;
    int blockedFacets = 0;   // table, mains, steps, culet
    int otherFacets = 0;     // stars, halves and all the rest; no girdle flats
    double girdle_mm = 0.0;  // length of the outline
};

// A cut without girdle flats, or without mains, keeps the weight at that stage. Throws what
// RoughCutter::finish throws. `cutter` must be made from stone.rough.
WorkStages workStages(const Stone& stone, const RoughCutter& cutter, const Design& design,
                      const Placement& placement);

}  // namespace macle
