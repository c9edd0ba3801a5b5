#include "core/solid/finished_stone.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/solid/corefine.h"
#include "core/solid/cut_mesh.h"
#include "core/solid/natural_patches.h"
#include "core/solid/part_cut.h"

namespace macle {
namespace {

using Eigen::Vector3d;

void append(TriangleMesh& whole, const TriangleMesh& part) {
    const auto base = static_cast<std::uint32_t>(whole.vertices.size());
    whole.vertices.insert(whole.vertices.end(), part.vertices.begin(), part.vertices.end());
    whole.triangles.reserve(whole.triangles.size() + part.triangles.size());
    for (const auto& t : part.triangles)
        whole.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
}

void checkPlacement(const Placement& placement) {
    if (!(placement.size_mm > 0.0) || !std::isfinite(placement.size_mm) ||
        !placement.translation_mm.allFinite() || !placement.rotation.coeffs().allFinite() ||
        !(placement.rotation.norm() > 0.0))
        throw Error(ErrorCode::BadUsage,
                    "The placement is not usable: size, place and rotation must be finite numbers "
                    "and the size positive.",
                    "Correct the placement.");
}

}  // namespace

struct RoughCutter::Impl {
    explicit Impl(const Rough& rough)
        : tree(rough.mesh), volume_mm3(signedVolume_mm3(rough.mesh)) {}

    // The skin again as a mesh, in the tree's own frame.
    TriangleMesh skin() const {
        TriangleMesh mesh;
        mesh.vertices = tree.vertices();
        mesh.triangles = tree.triangles();
        return mesh;
    }

    TriangleMesh slowly(const PartCut& cut) const {
        ConvexSolid solid = cut.body.part->solid;
        solid.vertices = cut.body.vertices;
        TriangleMesh mesh = intersectByCorefinement(skin(), triangulated(solid));
        const double volume = signedVolume_mm3(mesh);
        const double slack = tolerance::kVolumeRelative * cut.body.volume;
        require(volume >= -slack && volume <= std::min(cut.body.volume, volume_mm3) + slack,
                "the finished stone is no larger than the design and the rough");
        for (Vector3d& v : mesh.vertices)
            v += tree.middle();
        return mesh;
    }

    SkinTree tree;
    double volume_mm3;
};

RoughCutter::RoughCutter(const Rough& rough) : impl_(std::make_unique<Impl>(rough)) {}
RoughCutter::~RoughCutter() = default;

bool RoughCutter::contains(const Vector3d& point_mm) const {
    return impl_->tree.contains(point_mm - impl_->tree.middle());
}

FinishedStone RoughCutter::finish(const Design& design, const Placement& placement,
                                  bool wantMesh) const {
    checkPlacement(placement);
    const std::shared_ptr<const PreparedDesign> prepared = prepareDesign(design);
    const SkinTree& tree = impl_->tree;

    FinishedStone finished;
    finished.design_mm3 = prepared->volume * std::pow(placement.size_mm, 3.0);
    std::vector<PartCut> cuts;
    cuts.reserve(prepared->parts.size());
    for (std::size_t i = 0; i < prepared->singles; ++i)
        cuts.push_back(clipSkin(tree, prepared->parts[i], placement));

    finished.inside = contains(placement.translation_mm) &&
                      std::all_of(cuts.begin(), cuts.end(), [&](const PartCut& cut) {
                          return deepest(tree, cut) < tolerance::kInside_mm;
                      });
    if (finished.inside) {
        finished.volume_mm3 = finished.design_mm3;
        for (std::size_t i = 0; wantMesh && i < prepared->singles; ++i)
            append(finished.mesh, triangulated(placed(prepared->parts[i].solid, placement)));
        return finished;
    }

    for (std::size_t i = prepared->singles; i < prepared->parts.size(); ++i)
        cuts.push_back(clipSkin(tree, prepared->parts[i], placement));
    for (PartCut& cut : cuts) {
        closeFaces(tree, cut);
        const bool drawn = wantMesh && cut.body.part->single();
        TriangleMesh mesh;
        if (!cut.doubt.empty()) {
            mesh = impl_->slowly(cut);
            cut.volume = signedVolume_mm3(mesh);
        } else if (drawn) {
            std::optional<TriangleMesh> quick = cutMesh(tree, cut);
            mesh = quick ? std::move(*quick) : impl_->slowly(cut);
            require(std::abs(signedVolume_mm3(mesh) - cut.volume) <=
                        2.0 * tolerance::kVolumeRelative * cut.body.volume,
                    "the mesh of the finished stone holds its volume");
        }
        if (drawn) append(finished.mesh, mesh);
        finished.volume_mm3 += cut.body.part->sign() * cut.volume;
    }
    require(finished.volume_mm3 <= std::min(finished.design_mm3, impl_->volume_mm3) *
                                       (1.0 + 10.0 * tolerance::kVolumeRelative),
            "the finished stone is no larger than the design and the rough");
    if (finished.volume_mm3 <= tolerance::kVolumeRelative * finished.design_mm3)
        throw Error(ErrorCode::NoSolution, "The design lies wholly outside the rough.",
                    "Move the design into the rough.");
    finished.missing_mm3 = std::max(0.0, finished.design_mm3 - finished.volume_mm3);
    finished.naturals = naturalPatches(tree, cuts, prepared->singles);
    return finished;
}

}  // namespace macle
