// Gauge: the exact largest size of a design at a pose.
//
//   size(R, t) = min over parts, min over surface points p of
//                max over facets k of (n_k . R^T (p - t) - a_k) / d_k
//
// with a_k the polishing allowance, and at a defect its margin on top. Over a triangle the inner
// part is a convex piecewise-linear function; its exact minimum is taken, not that of the corners.
// A defect that may stay under the crown edge is met, with its margin alone, by the cut without
// that edge (core/solid/crown_edge.h) in place of the cut.
// The minimiser is the explanation: which point of which surface stops which facet.
#pragma once

#include <Eigen/Geometry>
#include <memory>
#include <string>
#include <vector>

#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/fit/fit_rules.h"
#include "core/fit/obstacles.h"
#include "core/fit/walls.h"

namespace macle {

struct PreparedPart;  // fit/gauge_kernel.h, private to fit

struct GaugeAnswer {
    double size_mm = 0.0;  // <= 0: nothing fits around this centre
    Eigen::Vector3d point_mm = Eigen::Vector3d::Zero();
    int part = -1;
    int facet = -1;     // the facet that is stopped there, see Gauge::facet
    int triangle = -1;  // in the obstacle tree; a warm start for the next query nearby
    int source = -1;
};

// Thread contract: `largest` is const and may run on many threads at once. The obstacles must
// outlive the gauge.
class Gauge {
  public:
    // Throws Error{BadInput} for a design whose planes do not keep the origin strictly inside,
    // Error{BadUsage} for an allowance below zero.
    Gauge(const Obstacles& obstacles, const Design& design, const FitRules& rules);
    // As if the rough ended at the walls too; the allowance is kept from them. A wall is no source:
    // what stops a size there is told as that of the nearest other surface.
    Gauge(const Obstacles& obstacles, const Design& design, const FitRules& rules,
          const std::vector<Wall>& walls);
    ~Gauge();
    Gauge(const Gauge&) = delete;
    Gauge& operator=(const Gauge&) = delete;

    // Size 0 and source -1 when the centre is not admissible. `warm` is a triangle from an earlier
    // answer, or -1; it never changes the answer. `facet` is the lowest index among the facets that
    // touch. Throws Error{BadUsage} for a rotation that is not a finite, non-zero quaternion.
    GaugeAnswer largest(const Eigen::Quaterniond& rotation, const Eigen::Vector3d& centre_mm,
                        int warm = -1) const;

    const Design& design() const;
    // Of the design's parts, or of those without the crown edge, which are counted after them.
    const Facet& facet(int part, int facet) const;
    const Obstacles& obstacles() const;
    const FitRules& rules() const;
    const std::vector<Wall>& walls() const;
    const ObstacleTree* wallTree() const;  // null without walls
    const std::vector<PreparedPart>& prepared() const;

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace macle
