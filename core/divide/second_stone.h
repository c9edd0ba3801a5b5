// Second stone: beside a stone that is placed already, where to saw so that what is left over
// gives the heaviest second one. Two convex stones can be parted by a plane when they keep the kerf
// apart; the saw lies as near to the first stone as that allows.
#pragma once

#include <optional>
#include <vector>

#include "core/base/progress.h"
#include "core/divide/division.h"
#include "core/fit/search.h"
#include "core/stone/stone.h"

namespace macle {

struct SecondStoneRules {
    double kerf_mm = 0.0;            // of one width
    bool mechanical = false;         // cube and dodecahedron planes only; needs the crystal's axes
    FitRules fit;                    // of the second stone; its allowance is kept from the saw too
    double firstAllowance_mm = 0.0;  // kept between the first stone and the saw
    // Directions to saw in (towards the second stone) instead of those found here; stone frame.
    std::vector<Eigen::Vector3d> only;
};

struct SecondStone {
    Saw saw;
    Placement placement;
    double volume_mm3 = 0.0;  // of the second stone
    std::vector<FitLimit> limits;
    long long poses = 0;
};

// Saws along every facet of the first stone (and the crystal's sawable planes) are tried, the
// largest remainders first; the best direction is then turned in ever smaller steps unless the saw
// is mechanical or `only` is given. Of `options` seed, threads and the limit count: poses for each
// direction, seconds for all. Nothing when no second stone of kSmallestSecond_mm fits. Throws
// Error{BadUsage} without axes for a mechanical saw, what findBest throws.
inline constexpr double kSmallestSecond_mm = 0.5;
std::optional<SecondStone> findSecondStone(const Stone& stone, const RoughCutter& cutter,
                                           const Design& first, const Placement& placed,
                                           const Design& second, const SecondStoneRules& rules,
                                           const FitOptions& options, Progress* progress = nullptr);

// The plane along `direction` (unit, stone frame) that clears the placed stone by half a kerf and
// the allowance.
Saw sawBeside(const Design& first, const Placement& placed, const Eigen::Vector3d& direction,
              double kerf_mm, double allowance_mm);

}  // namespace macle
