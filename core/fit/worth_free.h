// Worth with free proportions: the cut and placement that are best by any figure the caller
// supplies (value, clarity, colour), among what lies near the largest fit.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/fit/free_fit.h"

namespace macle {

struct WorthFreeResult {
    std::map<std::string, double> proportions;  // of the best, all of them
    FitResult fit;                              // its `others` stays empty
    double worth = 0.0;
    double before = 0.0;  // worth of the largest fit with the proportions given
    int tried = 0;        // sets of proportions
};

// `worth` of a design at a placement that fits: finite, larger is better; called from several
// threads at once. Half of time and poses find the largest fit with the proportions given; from
// there a compass search over the free ones goes on (Kolda, Lewis, Torczon, SIAM Review 45 (2003)
// 385), each set settled from the best placement so far. Sets that meet in no stone, or fit
// nowhere near, are passed over. Deterministic for a limit of poses. Throws what findBestFree
// throws, and Error{BadInput} when a worth is not finite.
WorthFreeResult findWorthiestFree(
    const Obstacles& obstacles, const std::string& cut,
    const std::map<std::string, double>& proportions, const std::vector<FacetEdit>& edits,
    const std::vector<FreeProportion>& free, const FitRules& rules,
    const std::function<double(const Design&, const Placement&)>& worth, const FitOptions& options,
    Progress* progress = nullptr);

}  // namespace macle
