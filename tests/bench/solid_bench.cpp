// A solid from its planes: makeSolid, which also verifies it and finds faces, areas and volume,
// against the bare hulls of qhull and the bare half-space intersection of CGAL.
#include <CGAL/Convex_hull_3/dual/halfspace_intersection_with_constructions_3.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Surface_mesh.h>

#include "core/solid/convex_solid.h"
#include "tests/bench/bench_bodies.h"
#include "tests/bench/measurements.h"

extern "C" {
#include <libqhull_r/qhull_ra.h>
}

namespace macle::bench {
namespace {

// 57: the round with a knife edge. 121: with a girdle. 100 and 150: no symmetry.
ConvexPart partOf(int facets) {
    if (facets == 57) return tolkowsky(0.0).parts.front();
    if (facets == 121) return tolkowsky(3.0).parts.front();
    return ellipsoidPart(facets);
}

void solidOurs(benchmark::State& state) {
    const ConvexPart part = partOf(static_cast<int>(state.range(0)));
    for (auto _ : state) {
        const ConvexSolid solid = makeSolid(part);
        benchmark::DoNotOptimize(solid.volume);
        state.counters["faces"] = static_cast<double>(solid.faces.size());
    }
}

// The dual points' hull: less work than qhull's own half-space mode, which makes it of them.
void solidQhull(benchmark::State& state) {
    const ConvexPart part = partOf(static_cast<int>(state.range(0)));
    for (auto _ : state) {
        std::vector<double> points;
        points.reserve(3 * part.facets.size());
        for (const Facet& f : part.facets)
            for (int axis = 0; axis < 3; ++axis)
                points.push_back(f.normal[axis] / f.distance);
        qhT hull;
        qh_zero(&hull, stderr);
        char options[] = "qhull Pp";
        const int failed = qh_new_qhull(&hull, 3, static_cast<int>(part.facets.size()),
                                        points.data(), False, options, nullptr, stderr);
        if (failed != 0) state.SkipWithError("qhull failed");
        state.counters["faces"] = hull.num_vertices;
        qh_freeqhull(&hull, !qh_ALL);
        int current = 0, total = 0;
        qh_memfreeshort(&hull, &current, &total);
    }
}

void solidCgal(benchmark::State& state) {
    using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
    const ConvexPart part = partOf(static_cast<int>(state.range(0)));
    for (auto _ : state) {
        std::vector<Kernel::Plane_3> planes;
        for (const Facet& f : part.facets)
            planes.emplace_back(f.normal.x(), f.normal.y(), f.normal.z(), -f.distance);
        CGAL::Surface_mesh<Kernel::Point_3> solid;
        CGAL::halfspace_intersection_with_constructions_3(
            planes.begin(), planes.end(), solid,
            boost::optional<Kernel::Point_3>(Kernel::Point_3(CGAL::ORIGIN)));
        state.counters["faces"] = static_cast<double>(solid.number_of_faces());
    }
}

void counts(benchmark::internal::Benchmark* b) {
    b->Arg(57)->Arg(100)->Arg(121)->Arg(150)->Unit(benchmark::kMicrosecond)->Repetitions(7);
    b->MinTime(0.1);
}
BENCHMARK(solidOurs)->Apply(counts);
BENCHMARK(solidQhull)->Apply(counts);
BENCHMARK(solidCgal)->Apply(counts);

const bool listed = [] {
    for (const std::string n : {"57", "100", "121", "150"}) {
        figures().push_back({"solid of " + n + " planes over qhull", "solid_over_qhull_" + n, "x",
                             Figure::Goal::AtMost, 0.7,
                             timeRatio("solidOurs/" + n, "solidQhull/" + n)});
        figures().push_back({"solid of " + n + " planes over CGAL", "solid_over_cgal_" + n, "x",
                             Figure::Goal::AtMost, std::nullopt,
                             timeRatio("solidOurs/" + n, "solidCgal/" + n)});
    }
    return true;
}();

}  // namespace
}  // namespace macle::bench
