#include "core/fit/clearance.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/fit/gauge.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

namespace {

constexpr int kMostSteps = 100;  // a few are enough: each is a step of Dinkelbach's method
constexpr double kSettled_mm = 1e-10;
constexpr double kInward = 0.5;  // share of the nearest facet's distance that all are moved by

}  // namespace

Obstacles skinAlone(const Rough& rough, Progress* progress) {
    Stone bare;
    bare.rough.mesh = rough.mesh;
    return Obstacles(bare, progress);
}

// With all facets moved inward by `inward` the cut is well inside; from there the allowance is
// sought at which its largest size is 1. At an allowance that is too large the point that stops it
// says by how much, for none of its facets may be moved beyond it (W. Dinkelbach, Management
// Science 13 (1967) 492).
Clearance clearanceOf(const Obstacles& skin, const Design& design, const Placement& placement) {
    if (!(placement.size_mm > 0.0) || !std::isfinite(placement.size_mm))
        throw Error(ErrorCode::BadUsage, "The placement has no size above zero.",
                    "Give the size in mm.");
    if (skin.tree().names().size() > 1)
        throw Error(ErrorCode::BadUsage, "The clearance is that to the skin alone.",
                    "Leave the defects out.");
    double nearest = std::numeric_limits<double>::infinity();
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets)
            nearest = std::min(nearest, placement.size_mm * facet.distance);
    const double inward = kInward * nearest;
    Design inner = design;
    for (ConvexPart& part : inner.parts)
        for (Facet& facet : part.facets)
            facet.distance = placement.size_mm * facet.distance - inward;

    Clearance found;
    double allowance = 0.0;
    int warm = -1;
    for (int step = 0; step < kMostSteps; ++step) {
        const Gauge gauge(skin, inner, {allowance});
        const GaugeAnswer answer =
            gauge.largest(placement.rotation, placement.translation_mm, warm);
        found.point_mm = answer.point_mm;
        if (answer.source < 0 || (step == 0 && answer.size_mm < 1.0)) {
            found.clear_mm = -inward;
            found.deeper = true;
            return found;
        }
        warm = answer.triangle;
        found.facet = gauge.facet(answer.part, answer.facet).name;
        const Eigen::Vector3d inCut =
            placement.rotation.conjugate() * (answer.point_mm - placement.translation_mm);
        double room = -std::numeric_limits<double>::infinity();
        for (const Facet& facet : inner.parts.at(static_cast<std::size_t>(answer.part)).facets)
            room = std::max(room, facet.normal.dot(inCut) - facet.distance);
        if (step > 0 && room >= allowance - kSettled_mm) break;
        allowance = std::max(0.0, room);
    }
    found.clear_mm = allowance - inward;
    return found;
}

}  // namespace macle
