// Worth fit: the best placement by any figure the caller supplies (value, clarity, colour), among
// the distinct fits and all that lies near them, smaller sizes too.
#pragma once

#include <functional>

#include "core/base/progress.h"
#include "core/fit/search.h"

namespace macle {

struct WorthFitResult {
    FitResult fit;          // its `others`: the runners-up, best first
    double worth = 0.0;     // of fit.placement
    double heaviest = 0.0;  // worth of the largest placement found, for comparison
};

// `worth` of a placement that fits: finite, larger is better; called from several threads at once.
// Part of the time finds clearly different large fits; from each of the best a compass search over
// centre, rotation and size goes on (Kolda, Lewis, Torczon, SIAM Review 45 (2003) 385), with the
// exact gauge as its limit. Deterministic for a limit of poses. Throws what findBest throws, and
// Error{BadInput} when a worth is not finite.
WorthFitResult findWorthiest(const Gauge& gauge,
                             const std::function<double(const Placement&)>& worth,
                             const FitOptions& options, Progress* progress = nullptr);

}  // namespace macle
