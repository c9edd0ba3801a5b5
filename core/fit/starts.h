// Starts: where a search begins. Rotations from a low-discrepancy sequence over all of them, and
// centres with room around them. Private to fit.
#pragma once

#include <Eigen/Geometry>
#include <cstdint>
#include <vector>

#include "core/base/draw.h"
#include "core/fit/local_fit.h"

namespace macle {

// The index-th rotation of an additive recurrence sequence (ratios from the root of x^4 = x + 1,
// shifted by the seed) mapped to uniform rotations (Shoemake, Graphics Gems III, 1992).
Eigen::Quaterniond spreadRotation(std::uint64_t index, std::uint64_t seed);

// Centres of locally largest room, best first, clearly apart; at least one unless cancelled or the
// stone has no admissible point among some ten thousand. Independent of the design. Both questions
// are asked before every pose query: `cancelled` ends it at once, `hurried` as soon as it has one
// centre (not yet the middle of its room). Either may be empty.
std::vector<Eigen::Vector3d> roomyCentres(const ObstacleTree& tree, std::uint64_t seed,
                                          const std::function<bool()>& cancelled,
                                          const std::function<bool()>& hurried = {},
                                          const std::vector<Wall>& walls = {},
                                          const ObstacleTree* wallTree = nullptr);

// Outward directions of the flat parts of the skin, largest area first; at most `most`. A table
// parallel to a natural face often loses least.
std::vector<Eigen::Vector3d> flatDirections(const ObstacleTree& tree, std::size_t most);

}  // namespace macle
