// SkinTree: a bounding-box tree over a closed surface, with the neighbour of each triangle across
// each of its edges. Everything is kept relative to the middle of the surface, so that a stone
// scanned far from the origin loses no digits. Private to solid.
// Thread contract: immutable once made.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <vector>

#include "core/stone/mesh.h"

namespace macle {

class SkinTree {
  public:
    struct Node {
        Eigen::Vector3d centre;
        Eigen::Vector3d half;
        std::uint32_t first = 0;  // triangles of a leaf
        std::uint32_t count = 0;  // 0 for an inner node
        std::uint32_t child = 0;  // children are child and child + 1
    };

    // Triangles and vertices are renumbered so that neighbours in space are neighbours in memory.
    // Throws Error{BadInput} unless every edge joins exactly two triangles, oppositely directed.
    explicit SkinTree(const TriangleMesh& skin);

    const std::vector<Node>& nodes() const { return nodes_; }
    const std::vector<Eigen::Vector3d>& vertices() const { return vertices_; }
    const std::vector<std::array<std::uint32_t, 3>>& triangles() const { return triangles_; }
    // Half-edge 3 t + e runs from corner e to corner (e + 1) % 3 of triangle t.
    const std::vector<std::uint32_t>& twins() const { return twins_; }

    // Add to a place of the tree to get the stone frame, mm.
    const Eigen::Vector3d& middle() const { return middle_; }
    // The largest coordinate that occurs, for bounds on rounding. mm.
    double reach() const { return reach_; }

    // Own frame. Parity of a ray's crossings; another ray when one grazes an edge, the solid angle
    // when all do.
    bool contains(const Eigen::Vector3d& place) const;

  private:
    enum class Side { In, Out, Unsure };

    void build();
    void boundNodes();
    void renumberVertices();
    void pairEdges();
    Side alongRay(const Eigen::Vector3d& place, const Eigen::Vector3d& direction) const;
    bool bySolidAngle(const Eigen::Vector3d& place) const;

    std::vector<Eigen::Vector3d> vertices_;
    std::vector<std::array<std::uint32_t, 3>> triangles_;
    std::vector<std::uint32_t> twins_;
    std::vector<Node> nodes_;
    Eigen::Vector3d middle_ = Eigen::Vector3d::Zero();
    double reach_ = 0.0;
};

}  // namespace macle
