// Picking on the skin: where a line of sight meets it, and how a natural face lies there.
// Stone frame, mm. Thread contract: free functions, no shared state.
#pragma once

#include <optional>

#include "core/stone/mesh.h"

namespace macle {

// A plane that opens the stone: what lies on the positive side is taken away.
struct OpenPlane {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // unit
    double offset_mm = 0.0;
};

struct SkinPick {
    Eigen::Vector3d place_mm = Eigen::Vector3d::Zero();
    bool onSection = false;  // on the opened plane, inside the stone, and not on the skin
};

// The first visible point along the ray: of the skin, or of the cut face where a plane opens it.
// Nothing when the ray misses. O(triangles).
std::optional<SkinPick> pickSkin(const TriangleMesh& skin, const Eigen::Vector3d& origin_mm,
                                 const Eigen::Vector3d& direction,
                                 const std::optional<OpenPlane>& open);

// Mean outward normal, by area, of the skin within `radius_mm` of the place, and how far its parts
// turn from it (degrees, mean by area): a natural face has little. Nothing without skin there.
struct FaceAt {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();
    double spread_deg = 0.0;
};
std::optional<FaceAt> faceAt(const TriangleMesh& skin, const Eigen::Vector3d& place_mm,
                             double radius_mm);

}  // namespace macle
