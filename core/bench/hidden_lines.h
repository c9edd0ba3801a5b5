// Hidden lines: which stretches of a line are seen and which lie behind a closed surface. Exact up
// to rounding: along a line the stretch behind one triangle is found in closed form. Lines on the
// surface itself are seen where it faces the viewer. Immutable once made; any thread.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "core/bench/outline.h"
#include "core/stone/mesh.h"

namespace macle {

using ViewEdge = std::array<Eigen::Vector2d, 2>;

class HiddenLines {
  public:
    HiddenLines(const TriangleMesh& surface, const ViewAxes& axes);

    // Appends the stretches of a line between two points, as seen.
    void split(const Eigen::Vector3d& from, const Eigen::Vector3d& to,
               std::vector<ViewEdge>& visible, std::vector<ViewEdge>& hidden) const;
    bool seen(const Eigen::Vector3d& point) const;

  private:
    // A triangle that faces the viewer, as seen, counter-clockwise; depth = slope . p + at.
    struct Cover {
        std::array<Eigen::Vector2d, 3> corners;
        Eigen::Vector2d slope;
        double at = 0.0;
    };
    std::array<int, 2> cellOf(const Eigen::Vector2d& p) const;

    ViewAxes axes_;
    std::vector<Cover> covers_;
    Eigen::Vector2d low_{0, 0};
    double cell_ = 1.0;
    std::array<int, 2> cells_{1, 1};
    std::vector<std::vector<std::uint32_t>> grid_;
};

}  // namespace macle
