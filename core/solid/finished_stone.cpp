#include "core/solid/finished_stone.h"

#include <algorithm>
#include <bit>
#include <optional>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/solid/corefine.h"

namespace macle {

struct RoughCutter::Impl {
    TriangleMesh skin;
    double volume_mm3 = 0.0;
};

RoughCutter::RoughCutter(const Rough& rough) : impl_(std::make_unique<Impl>()) {
    impl_->skin = rough.mesh;
    impl_->volume_mm3 = signedVolume_mm3(rough.mesh);
}

RoughCutter::~RoughCutter() = default;

bool RoughCutter::contains(const Eigen::Vector3d& point_mm) const {
    return macle::contains(impl_->skin, point_mm);
}

FinishedStone RoughCutter::finish(const Design& design, const Placement& placement,
                                  bool wantMesh) const {
    FinishedStone finished;
    const std::size_t parts = design.parts.size();
    require(parts > 0 && parts < 8, "a design has between one and seven convex parts");
    for (unsigned subset = 1; subset < (1U << parts); ++subset) {
        ConvexPart common;
        for (std::size_t i = 0; i < parts; ++i)
            if (subset >> i & 1U)
                common.facets.insert(common.facets.end(), design.parts[i].facets.begin(),
                                     design.parts[i].facets.end());
        const ConvexSolid solid = placed(makeSolid(common), placement);
        const double sign = std::popcount(subset) % 2 == 1 ? 1.0 : -1.0;
        const TriangleMesh mesh = intersectByCorefinement(impl_->skin, triangulated(solid));
        finished.design_mm3 += sign * solid.volume;
        finished.volume_mm3 += sign * signedVolume_mm3(mesh);
        if (wantMesh && std::popcount(subset) == 1) {
            const auto base = static_cast<std::uint32_t>(finished.mesh.vertices.size());
            finished.mesh.vertices.insert(finished.mesh.vertices.end(), mesh.vertices.begin(),
                                          mesh.vertices.end());
            for (const auto& t : mesh.triangles)
                finished.mesh.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
        }
    }
    if (finished.volume_mm3 <= 0.0)
        throw Error(ErrorCode::NoSolution, "The design lies wholly outside the rough.",
                    "Move the design into the rough.");
    finished.missing_mm3 = std::max(0.0, finished.design_mm3 - finished.volume_mm3);
    finished.inside = finished.missing_mm3 <= tolerance::kVolumeRelative * finished.design_mm3;
    return finished;
}

}  // namespace macle
