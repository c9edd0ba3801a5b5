// The kernel of the gauge: a design prepared for many queries, and one query at a pose.
// Private to fit.
#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include "core/cut/design.h"
#include "core/fit/facet_scan.h"
#include "core/fit/gauge.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

struct TriangleMinimum;  // fit/triangle_minimum.h

// A part in the cut frame, its facets in blocks of neighbours; each block filled up with its first.
struct PreparedPart {
    std::vector<Eigen::Vector3d> g;    // n / d
    std::vector<double> b;             // -a / d
    std::vector<int> facet;            // index into the part's facets
    std::vector<FacetDoubles> blocks;  // the same, as they are scanned
    BlockLayout layout;
    // Bit of the block whose facet meets a ray from the centre first, by its direction in the cut
    // frame: the six sides of a cube in kFields x kFields fields. Only a guess of what to try
    // first.
    std::array<std::uint8_t, 6 * Facing::kFields * Facing::kFields> facing{};
    // A few facets that look all round, enough for the large boxes at the top of the tree.
    static constexpr std::size_t kFewBlocks = 3;
    std::vector<int> few;     // indices into g
    double shallowest = 0.0;  // smallest |g|
    double steepest = 0.0;    // largest |g|
    double deepest = 0.0;     // largest |b|
    // Inside the crown edge: met by inner surfaces alone, as other parts are by all others.
    bool inner = false;
};

// Throws Error{BadInput} for a design without parts or facets, or with a plane that does not keep
// the origin strictly inside; Error{BadUsage} for a negative allowance.
std::vector<PreparedPart> prepareParts(const Design& design, const FitRules& rules);

// The same, and after them the parts of `inner` when the tree has surfaces that only these meet.
// Their planes are not polished, so that no allowance is kept from them.
std::vector<PreparedPart> prepareParts(const Design& design, const Design& inner,
                                       const FitRules& rules);
// What `inner` must be for a tree: withoutCrownEdge, or empty when no surface asks for it.
Design innerFor(const ObstacleTree& tree, const Design& design);

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

    // The smallest value on one triangle, whatever the others.
    Contact onTriangle(int triangle);

    // Contacts with value <= ceiling, in tree order: one for each part and tree cell, the smallest
    // in it. Cells are about `cell_mm` wide where the value is near `floor`, and wider by twice
    // `growth` times the height above it.
    void gather(double floor, double ceiling, double cell_mm, double growth,
                std::vector<Contact>& contacts);

    // Lowest index among the facets of the contact's part that touch there.
    int touchedFacet(const Contact& contact) const;

    // Value of the design's gauge at a point relative to the centre: the least over parts. Where
    // some surfaces are met by inner parts only, the least over these, so that no surface of any
    // kind lies between the centre and a point of smaller value than the smallest.
    double valueAt(const Eigen::Vector3d& q) const;

    long long nodesVisited = 0;  // for measurement

  private:
    static constexpr std::size_t kMetBlocks = 2;
    struct PosedPart {
        // Shared slopes of contacts met of late, in the cut frame and at this pose. They guide the
        // search for the nearest triangle and never change what it finds.
        std::array<FacetDoubles, kMetBlocks> metInCut;
        std::array<FacetFloats, kMetBlocks> met;
        std::size_t metNext = 0;
        std::array<FacetFloats, PreparedPart::kFewBlocks> few;
        Facing facing;
        std::vector<FacetFloats> floats;
        std::vector<FacetDoubles> doubles;
        // The same for each margin met at this pose.
        std::vector<std::pair<double, std::vector<FacetDoubles>>> lowered;
    };

    void descend(int part, std::uint32_t root, BlockMask mask, Contact& best);
    void fetch(const TreeNode& node) const;
    void searchLeaf(int part, const TreeNode& leaf, BlockMask mask, Contact& best);
    bool improveByTriangle(int part, int triangle, BlockMask mask, Contact& best);
    const FacetDoubles* facetsFor(int part, int source);
    bool applies(int part, int triangle) const {
        return (*parts_)[static_cast<std::size_t>(part)].inner == (triangle >= tree_->firstInner());
    }
    std::uint32_t rootOf(int part) const {
        return (*parts_)[static_cast<std::size_t>(part)].inner ? tree_->innerRoot() : 0;
    }

    const ObstacleTree* tree_;
    const std::vector<PreparedPart>* parts_;
    std::vector<PosedPart> posed_;
    Eigen::Vector3d centre_ = Eigen::Vector3d::Zero();
    void remember(int part, const TriangleMinimum& minimum);
    struct Bounds;
    Bounds boundsOf(int part, double enough, bool met) const;

    Eigen::Matrix3d turn_ = Eigen::Matrix3d::Identity();  // cut frame to stone frame
    float centreFloat_[3] = {0.0F, 0.0F, 0.0F};           // relative to the tree's origin
    std::vector<double> marginByPart_;  // by which single-precision bounds may be too high
    std::vector<double> bandByPart_;    // by which a facet may lie lower there and yet count
};

}  // namespace macle
