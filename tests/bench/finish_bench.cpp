// The finished stone where the design pokes out of a rough of 200 k triangles, against CGAL's
// corefinement of the same two surfaces.
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Surface_mesh.h>

#include "core/solid/convex_solid.h"
#include "core/solid/finished_stone.h"
#include "tests/bench/bench_bodies.h"
#include "tests/bench/measurements.h"

namespace macle::bench {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using SurfaceMesh = CGAL::Surface_mesh<Kernel::Point_3>;

SurfaceMesh surfaceOf(const TriangleMesh& mesh) {
    SurfaceMesh surface;
    for (const auto& v : mesh.vertices)
        surface.add_vertex({v.x(), v.y(), v.z()});
    for (const auto& t : mesh.triangles)
        surface.add_face(SurfaceMesh::Vertex_index(t[0]), SurfaceMesh::Vertex_index(t[1]),
                         SurfaceMesh::Vertex_index(t[2]));
    return surface;
}

// A good placement, a tenth larger: pokes out on several sides.
Placement pokingOut(const Scene& here) {
    const Pose pose = settledPose(here);
    return {pose.rotation, pose.centre_mm,
            1.1 * here.gauge.largest(pose.rotation, pose.centre_mm).size_mm};
}

void finishOurs(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    const RoughCutter cutter(here.stone.rough);
    const Placement placement = pokingOut(here);
    const bool wantMesh = state.range(1) != 0;
    for (auto _ : state) {
        const FinishedStone finished = cutter.finish(here.gauge.design(), placement, wantMesh);
        state.counters["volume_mm3"] = finished.volume_mm3;
        state.counters["naturals"] = static_cast<double>(finished.naturals.size());
    }
}

void finishPrepare(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    for (auto _ : state) {
        const RoughCutter cutter(here.stone.rough);
        benchmark::DoNotOptimize(&cutter);
    }
}

// Copies, because corefinement changes what it is given, are made while the clock stands.
void finishCorefinement(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    const Placement placement = pokingOut(here);
    const SurfaceMesh skin = surfaceOf(here.stone.rough.mesh);
    const SurfaceMesh body =
        surfaceOf(triangulated(placed(makeSolid(here.gauge.design().parts.front()), placement)));
    for (auto _ : state) {
        state.PauseTiming();
        SurfaceMesh a = skin, b = body, result;
        state.ResumeTiming();
        if (!CGAL::Polygon_mesh_processing::corefine_and_compute_intersection(a, b, result))
            state.SkipWithError("corefinement failed");
        state.PauseTiming();
        state.counters["volume_mm3"] = CGAL::Polygon_mesh_processing::volume(result);
        state.ResumeTiming();
    }
}

BENCHMARK(finishOurs)
    ->Args({200000, 0})
    ->Args({200000, 1})
    ->Unit(benchmark::kMicrosecond)
    ->Repetitions(5)
    ->MinTime(0.1);
BENCHMARK(finishPrepare)
    ->Args({200000})
    ->Unit(benchmark::kMicrosecond)
    ->Iterations(1)
    ->Repetitions(3);
BENCHMARK(finishCorefinement)
    ->Args({200000})
    ->Unit(benchmark::kMicrosecond)
    ->Iterations(1)
    ->Repetitions(3);

const bool listed = [] {
    const std::string ours = "finishOurs/200000/1", theirs = "finishCorefinement/200000";
    const auto add = [](const char* name, const char* key, const char* unit,
                        std::optional<double> target, auto value) {
        figures().push_back({name, key, unit, Figure::Goal::AtMost, target, value});
    };
    add("finished stone with its surface over corefinement, 200 k", "finish_over_corefinement", "x",
        0.1, timeRatio(ours, theirs));
    add("finished stone by volume over corefinement, 200 k", "finish_volume_over_corefinement", "x",
        0.1, timeRatio("finishOurs/200000/0", theirs));
    add("the same once, the rough prepared for it", "finish_prepared_over_corefinement", "x", 0.1,
        [=](const Measurements& m) -> std::optional<double> {
            const auto a = m.seconds(ours), b = m.seconds("finishPrepare/200000"),
                       c = m.seconds(theirs);
            if (!a || !b || !c) return std::nullopt;
            return (*a + *b) / *c;
        });
    add("relative difference of the two volumes", "finish_volume_difference", "", 1e-9,
        [=](const Measurements& m) -> std::optional<double> {
            const auto a = m.counter(ours, "volume_mm3"), b = m.counter(theirs, "volume_mm3");
            if (!a || !b) return std::nullopt;
            return std::abs(*a - *b) / *b;
        });
    return true;
}();

}  // namespace
}  // namespace macle::bench
