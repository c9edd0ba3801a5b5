// TriangleMesh: a plain indexed surface. Stone frame, mm. Counter-clockwise seen from outside.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <vector>

namespace macle {

struct TriangleMesh {
    std::vector<Eigen::Vector3d> vertices;
    std::vector<std::array<std::uint32_t, 3>> triangles;

    bool empty() const { return triangles.empty(); }
};

struct Box {
    Eigen::Vector3d low = Eigen::Vector3d::Zero();
    Eigen::Vector3d high = Eigen::Vector3d::Zero();
    Eigen::Vector3d extent() const { return high - low; }
    Eigen::Vector3d centre() const { return 0.5 * (low + high); }
};

// Bounds of the vertices; zero for an empty mesh.
Box bounds(const TriangleMesh& mesh);

// Signed volume of a closed, outward-oriented mesh (divergence theorem, about the box centre,
// compensated sum). mm3.
double signedVolume_mm3(const TriangleMesh& mesh);

double area_mm2(const TriangleMesh& mesh);

// Inside test for a closed mesh by the solid angle seen from the point (van Oosterom and
// Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125). O(triangles); exact away from the skin.
bool contains(const TriangleMesh& mesh, const Eigen::Vector3d& point);

}  // namespace macle
