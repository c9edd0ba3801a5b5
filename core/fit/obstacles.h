// Obstacles: the skin of the rough and the surfaces of all defects that may not stay anywhere in
// one bounding-box tree. Immutable once made; share freely between threads.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/stone/stone.h"

namespace macle {

class ObstacleTree;  // fit/obstacle_tree.h, private to fit

class Obstacles {
  public:
    // Source 0 is the skin; source i + 1 is stone.defects[i] (those that may stay anywhere are not
    // in the tree).
    explicit Obstacles(const Stone& stone, Progress* progress = nullptr);
    ~Obstacles();
    Obstacles(Obstacles&&) noexcept;
    Obstacles& operator=(Obstacles&&) noexcept;

    const ObstacleTree& tree() const { return *tree_; }
    std::string sourceName(int source) const;  // "skin" or the defect's name

    // The centre of a placement must lie inside the rough and in no defect of the tree.
    bool admissibleCentre(const Eigen::Vector3d& point_mm) const;

  private:
    std::unique_ptr<ObstacleTree> tree_;
};

}  // namespace macle
