#include "core/bench/stage_body.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/solid/corefine.h"
#include "core/solid/outer_surface.h"

namespace macle {

using Eigen::Vector3d;

namespace {

// Mesh and volume of one body come by two ways; corners of a mesh made by corefinement are rounded
// once more.
constexpr double kMeshHoldsVolume = 1e-8;

bool sameFacets(const ConvexPart& a, const ConvexPart& b) {
    return std::equal(a.facets.begin(), a.facets.end(), b.facets.begin(), b.facets.end(),
                      [](const Facet& f, const Facet& g) {
                          return f.normal == g.normal && f.distance == g.distance;
                      });
}

TriangleMesh placedMesh(TriangleMesh mesh, const Placement& placement) {
    const Eigen::Matrix3d turn = placement.rotation.toRotationMatrix();
    for (Vector3d& v : mesh.vertices)
        v = turn * v + placement.translation_mm;
    return mesh;
}

}  // namespace

StageBodies::StageBodies(const Rough& piece, const RoughCutter& cutter, const Design& design,
                         const Placement& placement)
    : piece_(piece), cutter_(cutter), design_(design), placement_(placement) {
    const Box box = bounds(piece.mesh);
    beyond_ = 2.0 * (box.extent().norm() + (box.centre() - placement.translation_mm).norm()) /
              placement.size_mm;
}

Design StageBodies::stage(const std::set<std::string>& worked) const {
    Design stage;
    stage.cut = design_.cut;
    for (const ConvexPart& part : design_.parts) {
        ConvexPart kept;
        std::copy_if(part.facets.begin(), part.facets.end(), std::back_inserter(kept.facets),
                     [&](const Facet& facet) { return worked.contains(facet.name); });
        // Nothing else bounds it until facets do: planes beyond the piece keep it finite.
        for (int axis = 0; axis < 3; ++axis)
            for (const double sign : {1.0, -1.0})
                kept.facets.push_back(
                    {"beyond", FacetKind::Other, sign * Vector3d::Unit(axis), beyond_});
        const bool fresh =
            std::none_of(stage.parts.begin(), stage.parts.end(),
                         [&](const ConvexPart& known) { return sameFacets(known, kept); });
        if (fresh) stage.parts.push_back(std::move(kept));
    }
    return stage;
}

StageBody StageBodies::after(const std::set<std::string>& worked) const {
    const Design now = stage(worked);
    const bool one = now.parts.size() == 1;
    FinishedStone cut = cutter_.finish(now, placement_, one);
    StageBody body;
    body.volume_mm3 = cut.volume_mm3;
    if (one) {
        body.mesh = std::move(cut.mesh);
    } else {
        const TriangleMesh surface = placedMesh(outerSurface(now, placement_.size_mm), placement_);
        body.mesh = cut.inside ? surface : intersectByCorefinement(piece_.mesh, surface);
    }
    require(std::abs(signedVolume_mm3(body.mesh) - body.volume_mm3) <=
                kMeshHoldsVolume * piece_.volume_mm3,
            "the surface of a working step holds its volume");
    return body;
}

double StageBodies::depth_mm(const std::string& facet, const StageBody& present,
                             const std::set<std::string>& worked) const {
    const Eigen::Matrix3d turn = placement_.rotation.toRotationMatrix();
    struct Plane {
        Vector3d normal;
        double offset_mm;
    };
    const auto placed = [&](const Facet& f) {
        const Vector3d normal = turn * f.normal;
        return Plane{normal,
                     normal.dot(placement_.translation_mm) + f.distance * placement_.size_mm};
    };
    double deepest = 0.0;
    for (const ConvexPart& part : design_.parts) {
        const auto own = std::find_if(part.facets.begin(), part.facets.end(),
                                      [&](const Facet& f) { return f.name == facet; });
        if (own == part.facets.end()) continue;
        const Plane plane = placed(*own);
        std::vector<Plane> bounds;
        if (design_.parts.size() > 1)
            for (const Facet& f : part.facets)
                if (worked.contains(f.name)) bounds.push_back(placed(f));
        for (const Vector3d& v : present.mesh.vertices) {
            const double over = plane.normal.dot(v) - plane.offset_mm;
            if (over <= deepest) continue;
            const bool within = std::all_of(bounds.begin(), bounds.end(), [&](const Plane& b) {
                return b.normal.dot(v) <= b.offset_mm + tolerance::kInside_mm;
            });
            if (within) deepest = over;
        }
    }
    return deepest <= tolerance::kInside_mm ? 0.0 : deepest;
}

}  // namespace macle
