// Walls: planes that a placement keeps on one side of, beside the skin: those that saws leave. A
// search in a piece of the rough needs no surface of the piece, only the walls of it.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <vector>

#include "core/stone/mesh.h"

namespace macle {

class ObstacleTree;  // fit/obstacle_tree.h, private to fit

// normal . x <= offset_mm; normal of length 1, stone frame.
struct Wall {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();
    double offset_mm = 0.0;
};

// Their parts within reach of a rough as obstacles; nothing without walls. Private to fit. Throws
// Error{BadUsage} for a wall without a direction of length 1 or a place.
std::shared_ptr<const ObstacleTree> wallTree(const std::vector<Wall>& walls, const Box& rough);

// Strictly on the inner side of all.
bool within(const std::vector<Wall>& walls, const Eigen::Vector3d& point_mm);

}  // namespace macle
