// The search against general optimisers of NLopt, all on the same exact function (the size at a
// pose) and one thread each. Rivals run five times as long; their best after the time the search
// had is kept too.
#include <nlopt.h>

#include <chrono>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/fit/search.h"
#include "tests/bench/bench_bodies.h"
#include "tests/bench/measurements.h"

namespace macle::bench {
namespace {

constexpr int kTriangles = 200000;
constexpr int kDefects = 50;
constexpr double kLonger = 5.0;

const Scene& searchScene() {
    static const Scene made(kTriangles, kDefects);
    return made;
}

void searchOurs(benchmark::State& state) {
    FitOptions options;
    options.seconds = searchSeconds();
    options.seed = static_cast<std::uint64_t>(state.range(0));
    options.threads = 1;
    const Scene& here = searchScene();
    for (auto _ : state) {
        const FitResult found = findBest(here.gauge, options);
        state.counters["size_mm"] = found.placement.size_mm;
        state.counters["poses"] = static_cast<double>(found.poses);
    }
}

// Ten seeds on two threads: the least weight found over the most.
void searchSeeds(benchmark::State& state) {
    const Scene& here = searchScene();
    for (auto _ : state) {
        double least = std::numeric_limits<double>::infinity(), most = 0.0;
        for (std::uint64_t seed = 1; seed <= 10; ++seed) {
            FitOptions options;
            options.seconds = searchSeconds();
            options.seed = seed;
            options.threads = 2;
            const double size = findBest(here.gauge, options).placement.size_mm;
            least = std::min(least, size);
            most = std::max(most, size);
        }
        state.counters["size_mm"] = most;
        state.counters["shortfall_percent"] = 100.0 * (1.0 - std::pow(least / most, 3));
    }
}

struct Rival {
    const Scene* scene;
    PoseQuery query;
    std::chrono::steady_clock::time_point begin;
    double early = 0.0;  // best within the search's own time
    double late = 0.0;
    long long poses = 0;
};

// Three numbers in [0, 1] for a uniform rotation (Shoemake, Graphics Gems III, 1992), three for the
// centre. Outside the rough or in a defect the size is 0.
double sizeAt(unsigned, const double* x, double*, void* data) {
    Rival& rival = *static_cast<Rival*>(data);
    const double r1 = std::sqrt(1.0 - x[0]), r2 = std::sqrt(x[0]);
    const double turn = 2.0 * std::numbers::pi;
    const Eigen::Quaterniond rotation(r2 * std::cos(turn * x[2]), r1 * std::sin(turn * x[1]),
                                      r1 * std::cos(turn * x[1]), r2 * std::sin(turn * x[2]));
    const Eigen::Vector3d centre(x[3], x[4], x[5]);
    ++rival.poses;
    double size = 0.0;
    if (rival.scene->obstacles.admissibleCentre(centre)) {
        rival.query.aim(rotation, centre);
        size = rival.query.smallest(-1).value;
    }
    rival.late = std::max(rival.late, size);
    const std::chrono::duration<double> elapsed = std::chrono::steady_clock::now() - rival.begin;
    if (elapsed.count() <= searchSeconds()) rival.early = rival.late;
    return size;
}

void searchRival(benchmark::State& state, nlopt_algorithm algorithm, bool restarts) {
    const Scene& here = searchScene();
    const Box box = bounds(here.stone.rough.mesh);
    for (auto _ : state) {
        Rival rival{&here, PoseQuery(here.obstacles.tree(), here.gauge.prepared()),
                    std::chrono::steady_clock::now()};
        nlopt_srand(static_cast<unsigned long>(state.range(0)));
        nlopt_opt optimiser = nlopt_create(algorithm, 6);
        nlopt_opt local = nlopt_create(NLOPT_LN_BOBYQA, 6);
        nlopt_set_xtol_rel(local, 1e-8);
        if (restarts) nlopt_set_local_optimizer(optimiser, local);
        std::vector<double> low(6, 0.0), high(6, 1.0), x(6, 0.5);
        for (std::size_t axis = 0; axis < 3; ++axis) {
            low[3 + axis] = box.low[static_cast<int>(axis)];
            high[3 + axis] = box.high[static_cast<int>(axis)];
            x[3 + axis] = 0.5 * (low[3 + axis] + high[3 + axis]);
        }
        nlopt_set_lower_bounds(optimiser, low.data());
        nlopt_set_upper_bounds(optimiser, high.data());
        nlopt_set_max_objective(optimiser, sizeAt, &rival);
        // One that converges is started anew until its time is over; `x` stays at the middle, and
        // the next run draws other numbers.
        for (double left = kLonger * searchSeconds(); left > 0.01;) {
            nlopt_set_maxtime(optimiser, left);
            std::vector<double> at = x;
            double reached = 0.0;
            if (nlopt_optimize(optimiser, at.data(), &reached) < 0) break;
            const std::chrono::duration<double> elapsed =
                std::chrono::steady_clock::now() - rival.begin;
            left = kLonger * searchSeconds() - elapsed.count();
        }
        nlopt_destroy(optimiser);
        nlopt_destroy(local);
        state.counters["early_mm"] = rival.early;
        state.counters["late_mm"] = rival.late;
        state.counters["poses"] = static_cast<double>(rival.poses);
    }
}

void once(benchmark::internal::Benchmark* b) {
    b->Arg(1)->Unit(benchmark::kSecond)->Iterations(1);
}
BENCHMARK(searchOurs)->Apply(once);
BENCHMARK(searchSeeds)->Unit(benchmark::kSecond)->Iterations(1);
BENCHMARK_CAPTURE(searchRival, CRS2_LM, NLOPT_GN_CRS2_LM, false)->Apply(once);
BENCHMARK_CAPTURE(searchRival, ISRES, NLOPT_GN_ISRES, false)->Apply(once);
BENCHMARK_CAPTURE(searchRival, DIRECT_L_RAND, NLOPT_GN_DIRECT_L_RAND, false)->Apply(once);
BENCHMARK_CAPTURE(searchRival, MLSL_BOBYQA, NLOPT_G_MLSL_LDS, true)->Apply(once);

const bool listed = [] {
    figures().push_back({"weight of the worst of ten seeds short of the best",
                         "search_seeds_percent", "%", Figure::Goal::AtMost, 0.1,
                         counterOf("searchSeeds", "shortfall_percent")});
    for (const std::string rival : {"CRS2_LM", "ISRES", "DIRECT_L_RAND", "MLSL_BOBYQA"}) {
        for (const bool late : {false, true}) {
            Figure figure;
            figure.name = "weight of the search over ";
            figure.name += rival;
            figure.name += late ? ", given 5x the time" : ", same time";
            figure.key = "search_over_";
            figure.key += rival;
            figure.key += late ? "_5x_time" : "_same_time";
            figure.unit = "x";
            figure.goal = Figure::Goal::AtLeast;
            figure.target = 1.0;
            figure.value = [=](const Measurements& m) -> std::optional<double> {
                const auto ours = m.counter("searchOurs/1", "size_mm");
                const auto theirs =
                    m.counter("searchRival/" + rival + "/1", late ? "late_mm" : "early_mm");
                if (!ours || !theirs || !(*theirs > 0.0)) return std::nullopt;
                return std::pow(*ours / *theirs, 3);
            };
            figures().push_back(figure);
        }
    }
    return true;
}();

}  // namespace
}  // namespace macle::bench
