#include "core/appraise/work_stages.h"

#include <algorithm>
#include <cmath>

#include "core/appraise/planar_hull.h"
#include "core/base/units.h"
#include "core/solid/prepared_design.h"

namespace macle {

namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

bool isBlocked(FacetKind kind) {
    switch (kind) {
        case FacetKind::Table:
        case FacetKind::CrownMain:
        case FacetKind::PavilionMain:
        case FacetKind::CrownStep:
        case FacetKind::PavilionStep:
        case FacetKind::Culet:
            return true;
        default:
            return false;
    }
}

// Planes that keep only what the stage has cut, closed off beyond the rough.
template <class Keep>
Design stageOf(const Design& design, double beyond, const Keep& keep) {
    Design stage;
    stage.cut = design.cut;
    for (const ConvexPart& part : design.parts) {
        ConvexPart kept;
        std::copy_if(part.facets.begin(), part.facets.end(), std::back_inserter(kept.facets),
                     [&](const Facet& facet) { return keep(facet.kind); });
        for (int axis = 0; axis < 3; ++axis)
            for (const double sign : {1.0, -1.0})
                kept.facets.push_back(
                    {"beyond", FacetKind::Other, sign * Vector3d::Unit(axis), beyond});
        stage.parts.push_back(std::move(kept));
    }
    return stage;
}

}  // namespace

WorkStages workStages(const Stone& stone, const RoughCutter& cutter, const Design& design,
                      const Placement& placement) {
    const Box box = bounds(stone.rough.mesh);
    const double beyond = 2.0 *
                          (box.extent().norm() + (box.centre() - placement.translation_mm).norm()) /
                          placement.size_mm;
    const auto weigh = [&](const auto& keep) {
        return caratsOf(stone,
                        cutter.finish(stageOf(design, beyond, keep), placement, false).volume_mm3);
    };
    WorkStages stages;
    stages.rough_ct = caratsOf(stone, stone.rough.volume_mm3);
    stages.belowTable_ct = weigh([](FacetKind kind) { return kind == FacetKind::Table; });
    stages.bruted_ct =
        weigh([](FacetKind kind) { return kind == FacetKind::Table || kind == FacetKind::Girdle; });
    stages.blocked_ct =
        weigh([](FacetKind kind) { return isBlocked(kind) || kind == FacetKind::Girdle; });
    stages.finished_ct = caratsOf(stone, cutter.finish(design, placement, false).volume_mm3);

    std::vector<Vector2d> corners;
    const auto prepared = prepareDesign(design);
    for (std::size_t p = 0; p < prepared->singles; ++p) {
        for (const Facet& facet : prepared->parts[p].facets) {
            if (facet.kind == FacetKind::Girdle) continue;
            ++(isBlocked(facet.kind) ? stages.blockedFacets : stages.otherFacets);
        }
        for (const Vector3d& corner : prepared->parts[p].solid.vertices)
            corners.emplace_back(corner.head<2>());
    }
    stages.girdle_mm = placement.size_mm * hullLength(planarHull(std::move(corners)));
    return stages;
}

}  // namespace macle
