// SkinFaces: what is recognisable on a skin: natural faces (large flat patches), the corners where
// they meet, and the tips of the rough. Nothing depends on how the scan lies in its frame. Stone
// frame, mm, degrees. Pure functions; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/bench/plane_section.h"
#include "core/stone/mesh.h"

namespace macle {

namespace tolerance {
// Parts of a face are joined while their mean directions differ by no more: growth marks on natural
// faces lie within a few degrees (common practice, no source).
inline constexpr double kFlatFace_deg = 4.0;
// Of the skin's area that a natural face must hold. A ball has no patch of that size within the
// angle above (a cap of 4 degrees is 0.12 % of it).
inline constexpr double kFaceShare = 0.015;
// Of the skin's reach across (twice the farthest place from its middle): so near to a point faces
// count as meeting there.
inline constexpr double kCornerReach = 0.01;
// Of the reach across: a tip is farther from the middle than all skin so near to it.
inline constexpr double kTipReach = 0.12;
}  // namespace tolerance

struct NaturalPatch {
    Plane plane;  // fitted, outward normal
    double area_mm2 = 0.0;
    double unevenness_mm = 0.0;  // root of the mean square distance of its skin to the plane
    Eigen::Vector3d middle_mm = Eigen::Vector3d::Zero();
    std::vector<std::uint32_t> triangles;
};

// Largest first.
std::vector<NaturalPatch> naturalFaces(const TriangleMesh& skin);

struct SkinPoint {
    Eigen::Vector3d place_mm = Eigen::Vector3d::Zero();  // on the skin
    std::vector<int> faces;                              // natural faces that meet there, ascending
    std::vector<int> saws;                               // whose sawn faces do, ascending
    // "corner of natural faces 1, 2, 5", "corner of the faces of saws 1, 2 on the skin", "corner of
    // the face of saw 1 and natural faces 2, 3", "tip of the rough"
    std::string words() const;
};

// Corners first, then tips that are no corners, each by their distance from the middle of the skin
// (mean of its area), farthest first; at most `most` in all.
std::vector<SkinPoint> skinPoints(const TriangleMesh& skin, const std::vector<NaturalPatch>& faces,
                                  std::size_t most);

}  // namespace macle
