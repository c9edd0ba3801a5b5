// Free fit: the heaviest placement of a cut when some of its proportions are free within ranges.
// Pose and proportions climb together: each step is a linear programme over both, judged by the
// exact gauge and the exact volume of the cut that the new proportions give.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/cut/library.h"
#include "core/fit/search.h"

namespace macle {

struct FreeProportion {
    std::string key;  // as in the library of cuts: "table_percent"
    double low = 0.0;
    double high = 0.0;
};

// A modest range: a twentieth of what the cut allows to each side of a value.
FreeProportion freeAround(const ProportionInfo& info, double value);

inline constexpr std::size_t kMostFreeProportions = 6;

// Throws Error{BadUsage} for a free proportion that the cut does not have, that is named twice, or
// whose range is empty or leaves the cut's own, for none, and for more than kMostFreeProportions.
void checkFree(const CutInfo& cut, const std::vector<FreeProportion>& free);

struct FreeFitResult {
    std::map<std::string, double> proportions;  // of the best, all of them
    FitResult fit;                              // its `others` stays empty
    double volume_mm3 = 0.0;                    // of the cut there
};

// `edits` change facets of whatever the proportions give. `proportions` are those that are pinned
// and where the free ones start; missing ones take their standard value. `onBetter` of the options
// gets placements of the proportions then best, which `onBetterProportions` (may be empty) gets
// just before. Deterministic as findBest is, and throws what it, makeDesign and checkFree throw.
FreeFitResult findBestFree(
    const Obstacles& obstacles, const std::string& cut,
    const std::map<std::string, double>& proportions, const std::vector<FacetEdit>& edits,
    const std::vector<FreeProportion>& free, const FitRules& rules, const FitOptions& options,
    Progress* progress = nullptr,
    const std::function<void(const std::map<std::string, double>&)>& onBetterProportions = {});

}  // namespace macle
