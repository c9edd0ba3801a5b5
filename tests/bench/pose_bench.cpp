// The gauge at one pose: cold, warm, and against every triangle looked at.
#include <limits>

#include "core/fit/triangle_minimum.h"
#include "tests/bench/bench_bodies.h"
#include "tests/bench/measurements.h"

namespace macle::bench {
namespace {

constexpr int kPoses = 1024;

void poseCold(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    const std::vector<Pose> poses = strayPoses(here, kPoses);
    PoseQuery query(here.obstacles.tree(), here.gauge.prepared());
    std::size_t i = 0;
    for (auto _ : state) {
        const Pose& pose = poses[i++ % poses.size()];
        query.aim(pose.rotation, pose.centre_mm);
        benchmark::DoNotOptimize(query.smallest(-1));
    }
    state.counters["nodes"] =
        static_cast<double>(query.nodesVisited) / static_cast<double>(state.iterations());
}

// Each pose from a walk of small steps, given the triangle met just before. Walks begin at poses
// of all kinds.
void poseWarm(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    std::vector<Pose> poses;
    constexpr int kWalk = 16;
    for (const Pose& start : strayPoses(here, kPoses / kWalk))
        for (const Pose& pose : nearbyPoses(start, kWalk))
            poses.push_back(pose);
    PoseQuery query(here.obstacles.tree(), here.gauge.prepared());
    std::vector<int> warm(poses.size());
    for (std::size_t k = 0; k < poses.size(); ++k) {
        const Pose& before = poses[k % kWalk == 0 ? k : k - 1];
        query.aim(before.rotation, before.centre_mm);
        warm[k] = query.smallest(-1).triangle;
    }
    query.nodesVisited = 0;
    std::size_t i = 0;
    for (auto _ : state) {
        const std::size_t k = i++ % poses.size();
        query.aim(poses[k].rotation, poses[k].centre_mm);
        benchmark::DoNotOptimize(query.smallest(warm[k]));
    }
    state.counters["nodes"] =
        static_cast<double>(query.nodesVisited) / static_cast<double>(state.iterations());
}

// The same about a good placement, where many facets nearly touch: what the end of a climb asks.
void poseWarmSettled(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    const std::vector<Pose> poses = nearbyPoses(settledPose(here), kPoses);
    PoseQuery query(here.obstacles.tree(), here.gauge.prepared());
    std::size_t i = 0;
    int warm = -1;
    for (auto _ : state) {
        const Pose& pose = poses[i++ % poses.size()];
        query.aim(pose.rotation, pose.centre_mm);
        const Contact contact = query.smallest(warm);
        warm = contact.triangle;
        benchmark::DoNotOptimize(contact);
    }
    state.counters["nodes"] =
        static_cast<double>(query.nodesVisited) / static_cast<double>(state.iterations());
}

// Through the public interface, with the test of the centre.
void poseAsked(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    const std::vector<Pose> poses = strayPoses(here, kPoses);
    std::size_t i = 0;
    for (auto _ : state) {
        const Pose& pose = poses[i++ % poses.size()];
        benchmark::DoNotOptimize(here.gauge.largest(pose.rotation, pose.centre_mm));
    }
}

// The same exact minimum on each triangle in turn, stopped early when the best so far is lower.
void poseEveryTriangle(benchmark::State& state) {
    const Scene& here = scene(static_cast<int>(state.range(0)));
    const std::vector<Pose> poses = strayPoses(here, 16);
    const PreparedPart& part = here.gauge.prepared().front();
    std::vector<FacetDoubles> facets(part.layout.blocks);
    std::size_t i = 0;
    for (auto _ : state) {
        const Pose& pose = poses[i++ % poses.size()];
        for (std::size_t k = 0; k < part.g.size(); ++k) {
            const Eigen::Vector3d g = pose.rotation * part.g[k];
            FacetDoubles& block = facets[k / FacetDoubles::kLanes];
            const std::size_t lane = k % FacetDoubles::kLanes;
            block.gx[lane] = g.x();
            block.gy[lane] = g.y();
            block.gz[lane] = g.z();
            block.b[lane] = part.b[k];
        }
        double best = std::numeric_limits<double>::infinity();
        for (const TreeTriangle& t : here.obstacles.tree().triangles()) {
            Eigen::Vector3d corners[3];
            for (int c = 0; c < 9; ++c)
                corners[c / 3][c % 3] = t.corner[c] - pose.centre_mm[c % 3];
            const TriangleMinimum minimum =
                minimumOverTriangle(facets.data(), part.layout, part.layout.all, corners, best);
            if (!minimum.beaten && minimum.value < best) best = minimum.value;
        }
        benchmark::DoNotOptimize(best);
    }
}

void sizes(benchmark::internal::Benchmark* b) {
    b->Arg(20000)->Arg(200000)->Arg(1000000)->Unit(benchmark::kMicrosecond);
}
BENCHMARK(poseCold)->Apply(sizes)->Repetitions(7)->MinTime(0.2);
BENCHMARK(poseWarm)->Apply(sizes)->Repetitions(7)->MinTime(0.2);
BENCHMARK(poseWarmSettled)->Apply(sizes)->Repetitions(7)->MinTime(0.2);
BENCHMARK(poseAsked)->Apply(sizes)->Repetitions(3)->MinTime(0.2);
BENCHMARK(poseEveryTriangle)->Apply(sizes)->Iterations(2);

const bool listed = [] {
    const auto add = [](const char* name, const char* key, const char* unit,
                        std::optional<double> target, auto value) {
        figures().push_back({name, key, unit, Figure::Goal::AtMost, target, value});
    };
    add("warm pose query, 1 M triangles", "pose_warm_1m_us", "us", 10.0,
        microseconds("poseWarm/1000000"));
    add("the same at a good placement, a dozen contacts nearly tied", "pose_warm_settled_1m_us",
        "us", std::nullopt, microseconds("poseWarmSettled/1000000"));
    add("cold pose query, 1 M triangles", "pose_cold_1m_us", "us", 60.0,
        microseconds("poseCold/1000000"));
    add("cold through the public interface, 1 M triangles", "pose_asked_1m_us", "us", std::nullopt,
        microseconds("poseAsked/1000000"));
    add("warm, 1 M over 20 k triangles", "pose_warm_growth", "x", 2.0,
        timeRatio("poseWarm/1000000", "poseWarm/20000"));
    add("cold, 1 M over 20 k triangles", "pose_cold_growth", "x", 2.0,
        timeRatio("poseCold/1000000", "poseCold/20000"));
    for (const auto& [size, word] :
         {std::pair("20000", "20k"), std::pair("200000", "200k"), std::pair("1000000", "1m")}) {
        const std::string n = size;
        for (const std::string kind : {"Cold", "Warm"}) {
            const std::string low = kind == "Cold" ? "cold" : "warm";
            figures().push_back({"every triangle over the " + low + " query, " + word,
                                 "every_triangle_over_" + low + "_" + word, "x",
                                 Figure::Goal::AtLeast, std::nullopt,
                                 timeRatio("poseEveryTriangle/" + n, "pose" + kind + "/" + n)});
        }
    }
    return true;
}();

}  // namespace
}  // namespace macle::bench
