// The faces of one convex part, laid out for finding where a ray inside it leaves. Private to
// light.
//
// A ray that starts on a known face and runs in a known direction can only leave by few faces. The
// directions are sorted into cells (the fields of a cube map); for each pair of face and cell a bit
// mask, made once, names the blocks of faces that any such ray can reach: those that face the cell
// and that no plane through the cell's sides parts from the start. Faces stand in blocks of
// neighbours, so that a mask has few bits.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "core/solid/convex_solid.h"

namespace macle::light {

// Four faces n.x <= d side by side. Padding has a normal of zero and d infinite: no ray meets it,
// every point lies within.
struct FaceBlock {
    static constexpr int kLanes = 4;
    alignas(32) double nx[kLanes];
    alignas(32) double ny[kLanes];
    alignas(32) double nz[kLanes];
    alignas(32) double d[kLanes];
};

// Places nearer than this share of the size are one: where light leaves one part of a union inside
// another, or goes on into it.
inline constexpr double kSamePlace = 1e-9;

using BlockMask = std::uint64_t;

class FacetTable {
  public:
    static constexpr int kFields = 10;  // along each side of the cube of directions
    static constexpr int kCells = 6 * kFields * kFields;
    static constexpr int kMostFaces = 64 * FaceBlock::kLanes;

    // Lengths in mm. Throws Error{BadInput} for more than kMostFaces faces.
    FacetTable(const ConvexPart& part, double size_mm);

    int faces() const { return static_cast<int>(facets_.size()); }
    // Index of the facet in the part that face `face` lies on. Faces are numbered by place in the
    // blocks: block * lanes + lane.
    int facetOf(int face) const { return facets_[static_cast<std::size_t>(face)]; }
    int faceOf(int facet) const { return faceOf_[static_cast<std::size_t>(facet)]; }  // -1: none
    Eigen::Vector3d normal(int face) const;
    double distance(int face) const;
    const std::vector<FaceBlock>& blocks() const { return blocks_; }
    const std::vector<Eigen::Vector3d>& corners(int face) const {
        return corners_[static_cast<std::size_t>(face)];
    }

    BlockMask all() const { return all_; }
    // What a ray from `face` can reach in a direction of the cell.
    BlockMask reach(int face, int cell) const {
        return reach_[static_cast<std::size_t>(face) * kCells + static_cast<std::size_t>(cell)];
    }
    const BlockMask* reachTable() const { return reach_.data(); }

    // Where the line origin + t * direction enters and leaves; false when it misses. The faces are
    // -1 where no plane bounds that end. Same bits on every processor.
    bool interval(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction, double& enters,
                  double& leaves, int& entryFace, int& exitFace) const;

    // Whether the point lies inside deeper than `depth` below every face.
    bool holds(const Eigen::Vector3d& point, double depth_mm) const;
    // Whether a face that the point lies outside of, or within `slack` of, and that the ray leaves
    // behind, keeps the ray out for good.
    bool keepsOut(const Eigen::Vector3d& point, const Eigen::Vector3d& direction,
                  double slack_mm) const;

  private:
    void layOut(const ConvexPart& part, const ConvexSolid& solid, double size_mm);
    void findReach();

    std::vector<int> facets_;
    std::vector<int> faceOf_;
    std::vector<std::vector<Eigen::Vector3d>> corners_;
    std::vector<FaceBlock> blocks_;
    std::vector<BlockMask> reach_;
    BlockMask all_ = 0;
    double extent_mm_ = 0.0;
};

// The cell of a direction.
int directionCell(double x, double y, double z);

}  // namespace macle::light
