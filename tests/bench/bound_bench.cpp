// How far the proven bound stands above the best placement found, against time.
#include <numbers>

#include "core/fit/bound.h"
#include "core/fit/search.h"
#include "core/stone/sample.h"
#include "tests/bench/bench_bodies.h"
#include "tests/bench/measurements.h"

namespace macle::bench {
namespace {

// A crystal of 24 faces in random directions.
Stone convexStone() {
    Stone stone = octahedronStone(10.0, 4);
    const ConvexPart cutters = ellipsoidPart(24);
    // Star-shaped about the middle, so each corner moves along its ray to the nearest plane.
    for (Eigen::Vector3d& v : stone.rough.mesh.vertices) {
        double reach = 0.0;
        for (const Facet& f : cutters.facets)
            reach = std::max(reach, f.normal.dot(v) / f.distance);
        v *= 8.0 / reach;
    }
    stone.rough.volume_mm3 = signedVolume_mm3(stone.rough.mesh);
    return stone;
}

Stone notchedStone() {
    Stone stone = sampleStone(20000);
    stone.defects.clear();
    stone.clusters.clear();
    return stone;
}

Stone bodyOf(long which) {
    if (which == 0) return octahedronStone(10.0, 0);
    return which == 1 ? convexStone() : notchedStone();
}

// Arguments: the body, seconds as a multiple of the search's.
void boundGap(benchmark::State& state) {
    const Stone stone = bodyOf(state.range(0));
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, tolkowsky(), {});
    FitOptions search;
    search.seconds = searchSeconds();
    const FitResult found = findBest(gauge, search);
    for (auto _ : state) {
        BoundOptions options;
        options.seconds = searchSeconds() * static_cast<double>(state.range(1));
        options.incumbent_mm = found.placement.size_mm;
        options.targetGap_percent = 0.01;
        const Bound bound = proveBound(gauge, options);
        state.counters["gap_percent"] = bound.gap_percent;
        state.counters["cells"] = static_cast<double>(bound.cells);
    }
}
BENCHMARK(boundGap)->ArgsProduct({{0, 1, 2}, {1, 4, 12}})->Unit(benchmark::kSecond)->Iterations(1);

const bool listed = [] {
    const std::pair<const char*, double> bodies[] = {
        {"octahedron", 1.0}, {"convex", 1.0}, {"notched", 3.0}};
    for (std::size_t i = 0; i < 3; ++i)
        for (const int times : {1, 4, 12}) {
            Figure figure;
            const std::string seconds = std::to_string(static_cast<int>(times * searchSeconds()));
            figure.name =
                std::string("gap of the bound, ") + bodies[i].first + ", " + seconds + " s";
            figure.key = std::string("bound_gap_") + bodies[i].first + "_" + seconds + "s_percent";
            figure.unit = "%";
            if (times == 12) figure.target = bodies[i].second;
            figure.value = counterOf("boundGap/" + std::to_string(i) + "/" + std::to_string(times),
                                     "gap_percent");
            figures().push_back(figure);
        }
    return true;
}();

}  // namespace
}  // namespace macle::bench
