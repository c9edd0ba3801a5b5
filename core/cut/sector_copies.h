// SectorCopies: turns and mirrors the planes of one sector round the axis. Private to core/cut.
#pragma once

#include <vector>

#include "core/cut/design.h"

namespace macle {

class SectorCopies {
  public:
    SectorCopies(int turns, bool mirror) : turns_(turns), mirror_(mirror) {}

    // Makes a plane that is its own mirror image up to rounding so exactly.
    void settle(Eigen::Vector3d& normal) const;
    // All images of a settled normal, each once, itself first.
    std::vector<Eigen::Vector3d> images(const Eigen::Vector3d& normal) const;

  private:
    Eigen::Vector3d turned(const Eigen::Vector3d& n, int steps) const;

    int turns_;
    bool mirror_;
};

}  // namespace macle
