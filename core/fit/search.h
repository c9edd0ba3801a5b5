// Search: the best placement of a design in a rough. Deterministic for a seed at any thread count
// when ended by `poses`; anytime and cancellable otherwise.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/fit/gauge.h"

namespace macle {

struct FitLimit {
    Eigen::Vector3d point_mm;
    std::string facet;   // "pavilion main 3"
    std::string source;  // "skin" or the defect's name
};

struct FitOptions {
    double seconds = 10.0;  // <= 0: no limit by time
    long long poses = 0;    // > 0: ends after about so many pose queries, whatever the time
    std::uint64_t seed = 1;
    int threads = 0;                                 // 0: as many as the machine has
    std::function<void(const Placement&)> onBetter;  // called from one thread at a time
};

struct FitResult {
    Placement placement;
    std::vector<FitLimit> limits;  // all obstacles touched, nearest first
    double seconds = 0.0;
    long long poses = 0;
};

// What stops the design at this placement's pose: every contact within `slack` (relative to the
// size) of the smallest. At most one per source triangle neighbourhood, nearest first.
std::vector<FitLimit> limitsAt(const Gauge& gauge, const Eigen::Quaterniond& rotation,
                               const Eigen::Vector3d& centre_mm, double slack = 1e-4);

// Throws Error{NoSolution} when no pose admits a positive size.
FitResult findBest(const Gauge& gauge, const FitOptions& options, Progress* progress = nullptr);

// Moves a placement's pose to the local optimum near it (the "settle" of the window).
Placement settle(const Gauge& gauge, const Placement& start, Progress* progress = nullptr);

}  // namespace macle
