#include "app/window/first_place.h"

#include "app/window/hand.h"
#include "core/fit/search.h"

namespace macle::app {
namespace {

constexpr long long kFirstPoses = 4000;

}  // namespace

Placement firstPlace(const Stone& stone, const Obstacles& obstacles, const PlannedStone& planned,
                     Progress* progress) {
    const Design design = designOf(planned);
    const Gauge gauge(obstacles, design, planned.rules);
    Placement placement = planned.placement;
    placement.translation_mm = bounds(stone.rough.mesh).centre();
    const GaugeAnswer middle = gauge.largest(placement.rotation, placement.translation_mm);
    if (middle.source >= 0 && middle.size_mm >= kSmallestSize_mm) {
        placement.size_mm = middle.size_mm;
        return placement;
    }
    FitOptions options;
    options.seconds = 0.0;
    options.poses = kFirstPoses;
    return findBest(gauge, options, progress).placement;
}

}  // namespace macle::app
