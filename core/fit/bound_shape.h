// A design prepared for the bound: its vertices with their neighbours, its facets, and the
// rotations that carry it onto itself. Private to fit.
#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "core/cut/design.h"

namespace macle {

struct BoundFacet {
    Eigen::Vector3d normal;
    double distance;
};

// One convex part for size 1, cut frame.
class BoundPart {
  public:
    explicit BoundPart(const ConvexPart& part);

    // Every vertex is drawn in, if need be, until it satisfies all facet planes in spite of
    // rounding; so each is a point of the part.
    const std::vector<Eigen::Vector3d>& vertices() const { return vertices_; }
    const std::vector<BoundFacet>& facets() const { return facets_; }

    // Index of the vertex farthest along a direction (by walking uphill).
    int farthest(const Eigen::Vector3d& direction) const;

  private:
    static constexpr int kGrid = 12;  // squares along an edge of the cube of directions
    int gridIndex(const Eigen::Vector3d& direction) const;
    int climb(const Eigen::Vector3d& direction, int start) const;

    std::vector<Eigen::Vector3d> vertices_;
    std::vector<std::vector<int>> neighbours_;
    std::vector<BoundFacet> facets_;
    std::vector<int> startVertex_;  // by grid square
};

struct DesignSymmetry {
    int order = 1;       // turns about z by 360 / order deg map the design onto itself
    bool flips = false;  // so does a half turn about some axis in the girdle plane
    double error = 0.0;  // how far facets miss their images, relative: at most this
};

// Only symmetries that hold to rounding are reported.
DesignSymmetry findSymmetry(const Design& design);

}  // namespace macle
