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

// Two placements are clearly different when one finished stone reaches this share of its size
// farther than the other in some direction.
inline constexpr double kClearlyDifferent = 0.08;

struct FitOptions {
    double seconds = 10.0;  // <= 0: no limit by time
    long long poses = 0;    // > 0: ends after about so many pose queries, whatever the time
    std::uint64_t seed = 1;
    int threads = 0;                // 0: as many as the machine has
    std::vector<Placement> starts;  // tried first; only their poses count
    // Outward directions (unit, stone frame) that the table is tried in first, such as those of the
    // crystal axes; the flat parts of the skin are always tried.
    std::vector<Eigen::Vector3d> tableDirections;
    std::size_t different = 0;  // how many other, clearly different placements are wanted
    std::function<void(const Placement&)> onBetter;  // called from one thread at a time
};

struct FitResult {
    Placement placement;
    std::vector<Placement> others;  // each at its own best and clearly different, largest first
    std::vector<FitLimit> limits;   // all obstacles touched, nearest first
    double seconds = 0.0;
    long long poses = 0;
};

// What stops the design at this placement's pose: every contact within `slack` (relative to the
// size) of the smallest. At most one per source triangle neighbourhood, nearest first.
std::vector<FitLimit> limitsAt(const Gauge& gauge, const Eigen::Quaterniond& rotation,
                               const Eigen::Vector3d& centre_mm, double slack = 1e-4);

// Throws Error{NoSolution} when no pose admits a positive size.
FitResult findBest(const Gauge& gauge, const FitOptions& options, Progress* progress = nullptr);

// Moves a placement's pose to the local optimum near it (the "settle" of the window). Adds the pose
// queries to `poses`. Throws Error{NoSolution} when the middle lies in no sound material.
Placement settle(const Gauge& gauge, const Placement& start, Progress* progress = nullptr,
                 long long* poses = nullptr);
// The same to about a hundred-thousandth of the size, for searches that settle often.
Placement settleRoughly(const Gauge& gauge, const Placement& start, Progress* progress = nullptr,
                        long long* poses = nullptr);

}  // namespace macle
