// ObstacleTree: bounding-box tree over the triangles of skin and forbidden defects, in one flat
// array. Private to fit. Immutable once made; share freely between threads.
//
// Boxes are turned to lie along the surface they hold, so that a patch of a fine scan is bounded by
// its thickness and not by its width: without that the number of boxes a query must open grows
// with the root of the number of triangles. They are single precision, relative to `origin`, and
// widened beyond every rounding, so that each encloses its triangles as stored in double
// precision. Triangles stand in leaf order; their index in that order is the "triangle" of a
// GaugeAnswer. The order depends on the input alone.
#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/stone/mesh.h"

namespace macle {

struct alignas(64) TreeNode {
    std::array<float, 3> centre;
    std::array<float, 9> axes;  // three half axes, one after the other
    float extent;               // the longest of them
    std::uint32_t first;        // leaf: first triangle; inner: left child, the right one follows it
    std::uint32_t count;        // triangles of a leaf, 0 for an inner node

    // Half width along a coordinate axis of the upright box that encloses this one, mm.
    double half(int axis) const {
        return (static_cast<double>(std::abs(axes[axis])) + std::abs(axes[3 + axis]) +
                std::abs(axes[6 + axis])) *
               (1.0 + 1e-12);
    }
};

struct TreeTriangle {
    std::array<double, 9> corner;  // three corners, stone frame, mm
    int source;
};

struct ObstacleSurface {
    std::string name;
    TriangleMesh mesh;
    bool closed = true;  // an open sheet has no inside
    int source = 0;
    double margin_mm = 0.0;  // kept from it beside the allowance
    // May lie in the cut's crown edge: it is met only by the parts of the cut inside that.
    bool inner = false;
};

class ObstacleTree {
  public:
    // Throws Error{BadInput} when there is no triangle or a corner is not finite.
    // `halving` splits long triangles, which bound little.
    ObstacleTree(const std::vector<ObstacleSurface>& surfaces, std::vector<std::string> names,
                 Progress* progress, bool halving = true);

    const std::vector<TreeNode>& nodes() const { return nodes_; }
    const std::vector<TreeTriangle>& triangles() const { return triangles_; }
    // Triangles of inner surfaces come after all others, in a tree of their own; 0 when there are
    // none.
    std::uint32_t innerRoot() const { return innerRoot_; }
    int firstInner() const { return static_cast<int>(firstInner_); }
    const Eigen::Vector3d& origin() const { return origin_; }
    const Box& skinBox() const { return skinBox_; }
    // No point of a box is farther from the origin.
    double reach_mm() const { return reach_; }
    const std::vector<std::string>& names() const { return names_; }
    // Kept from a source beside the allowance, and the largest of these.
    double margin_mm(int source) const { return margins_[static_cast<std::size_t>(source)]; }
    double largestMargin_mm() const { return largestMargin_; }

    // Inside the skin and in no closed defect, by signed crossings along a ray; rays that pass too
    // near an edge are thrown away for another, and the solid angle decides in the end.
    bool admissible(const Eigen::Vector3d& point) const;

  private:
    bool admissibleBySolidAngle(const Eigen::Vector3d& point) const;
    void build(Progress* progress);
    void turnBoxes(const std::vector<std::uint32_t>& begin, const std::vector<std::uint32_t>& end,
                   Progress* progress);

    std::vector<TreeNode> nodes_;
    std::vector<TreeTriangle> triangles_;
    std::vector<std::string> names_;  // by source
    std::vector<char> closed_;        // by source
    std::vector<double> margins_;     // by source
    double largestMargin_ = 0.0;
    std::uint32_t innerRoot_ = 0;
    std::uint32_t firstInner_ = 0;  // the number of triangles when there are none
    Eigen::Vector3d origin_ = Eigen::Vector3d::Zero();
    Box skinBox_;
    double reach_ = 0.0;
};

}  // namespace macle
