// First place: where a cut begins in a stone that has no placement for it yet.
// Pure; any thread.
#pragma once

#include "core/base/progress.h"
#include "core/divide/layout.h"
#include "core/fit/obstacles.h"
#include "core/stone/stone.h"

namespace macle::app {

// In the middle of the stone, as large as it can be there; where nothing fits in the middle, a
// short search finds a place. `obstacles` must be those of the stone. Throws Error{NoSolution} for
// a stone that holds no such cut, what makeDesign and findBest throw.
Placement firstPlace(const Stone& stone, const Obstacles& obstacles, const PlannedStone& planned,
                     Progress* progress = nullptr);

}  // namespace macle::app
