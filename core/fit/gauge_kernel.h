// The kernel of the gauge: a design prepared for many queries, and one query at a pose.
// Private to fit.
#pragma once

#include <Eigen/Geometry>
#include <cstdint>
#include <vector>

#include "core/cut/design.h"
#include "core/fit/gauge.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

// Facets of one part by lanes, in the stone frame at one pose: value at q (relative to the centre)
// is g . q + b with g = R n / d and b = -a / d. Padding repeats the first facet.
struct FacetFloats {
    static constexpr int kLanes = 16;
    alignas(64) float gx[kLanes];
    alignas(64) float gy[kLanes];
    alignas(64) float gz[kLanes];
    alignas(64) float ax[kLanes];  // |g|
    alignas(64) float ay[kLanes];
    alignas(64) float az[kLanes];
    alignas(64) float b[kLanes];
};
struct FacetDoubles {
    static constexpr int kLanes = 8;
    alignas(64) double gx[kLanes];
    alignas(64) double gy[kLanes];
    alignas(64) double gz[kLanes];
    alignas(64) double b[kLanes];
};

// A part in the cut frame, its facets in an order that makes the first lanes tell much.
struct PreparedPart {
    std::vector<Eigen::Vector3d> g;  // n / d
    std::vector<double> b;           // -a / d
    std::vector<int> facet;          // index into the part's facets
    double steepest = 0.0;           // largest sum of |g| over axes after any rotation
    double deepest = 0.0;            // largest |b|
};

// Throws Error{BadInput} for a design without parts or facets, or with a plane that does not keep
// the origin strictly inside; Error{BadUsage} for a negative allowance.
std::vector<PreparedPart> prepareParts(const Design& design, const FitRules& rules);

// The exact minimum over one triangle, with the share each facet has in holding it: value = q . g
// summed over shares plus offsets, so that `slope` is its exact gradient in the point, and
// first-order in the pose.
struct Contact {
    double value = 0.0;
    Eigen::Vector3d q = Eigen::Vector3d::Zero();      // relative to the centre, mm
    Eigen::Vector3d slope = Eigen::Vector3d::Zero();  // shared g, stone frame
    int facet = -1;                                   // lowest index that attains the value
    int part = -1;
    int triangle = -1;
};

// One pose. Holds scratch memory; use one per thread and aim it again and again.
class PoseQuery {
  public:
    PoseQuery(const ObstacleTree& tree, const std::vector<PreparedPart>& parts);

    void aim(const Eigen::Quaterniond& rotation, const Eigen::Vector3d& centre);

    // The smallest value over all triangles and parts; ties go to the lowest triangle, then part.
    // The centre is not checked. Same bits whatever `warm` is.
    Contact smallest(int warm);

    // Contacts with value <= ceiling, at most one per part and tree cell of about `cell_mm`:
    // the smallest in it. In tree order.
    void gather(double ceiling, double cell_mm, std::vector<Contact>& contacts);

    // Lowest index among the facets of the contact's part that touch there.
    int touchedFacet(const Contact& contact) const;

    // Value of the design's gauge at a point relative to the centre: the least over parts.
    double valueAt(const Eigen::Vector3d& q) const;

    long long nodesVisited = 0;  // for measurement

  private:
    struct PosedPart {
        std::vector<FacetFloats> floats;
        std::vector<FacetDoubles> doubles;
    };

    void descend(int part, std::uint32_t root, Contact& best);
    bool improveByTriangle(int part, int triangle, Contact& best);

    const ObstacleTree* tree_;
    const std::vector<PreparedPart>* parts_;
    std::vector<PosedPart> posed_;
    Eigen::Vector3d centre_ = Eigen::Vector3d::Zero();
    float centreFloat_[3] = {0.0F, 0.0F, 0.0F};  // relative to the tree's origin
    std::vector<double> marginByPart_;           // of single-precision bounds
};

}  // namespace macle
