// The gauge at random poses, judged three ways that share nothing with it: a linear programme per
// triangle (GLPK), clipping of every triangle just below and just above the size, and the finished
// stone there. MACLE_TEST_POSES sets the number of poses in all; the ordinary run takes few.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <string>

#include "core/base/tolerance.h"
#include "core/fit/gauge.h"
#include "core/solid/finished_stone.h"
#include "fit_bodies.h"

namespace macle {
namespace {

using namespace fit_bodies;

struct Trial {
    std::string name;
    Stone stone;
    Design design;
    double allowance_mm = 0.0;
};

Defect crack(const Vector3d& corner) {
    Defect defect;
    defect.name = "crack";
    defect.shape = Sheet{{corner, corner + Vector3d(1.2, 0.2, 0.0),
                          corner + Vector3d(1.3, 0.9, 0.4), corner + Vector3d(0.1, 0.7, 0.4)}};
    return defect;
}

// Small bodies, because every triangle is looked at for each pose: convex and not, with and without
// defects and allowance, one part and unions of two.
std::vector<Trial> trials() {
    std::vector<Trial> all;
    all.push_back({"octahedron", octahedronStone(10.0), tolkowsky(), 0.0});
    all.push_back({"octahedron, allowance", octahedronStone(10.0, 1), tolkowsky(0.0), 0.1});
    all.push_back({"notched ball", stoneOf(notchedBall(8, 4.0)), tolkowsky(), 0.0});
    all.push_back({"notched ball, union", stoneOf(notchedBall(7, 4.0)), twins(), 0.0});
    {
        Stone stone = stoneOf(notchedBall(7, 4.0));
        stone.defects.push_back(ellipsoid("seed", {0.9, 0.7, -1.0}, {0.2, 0.3, 0.15}));
        stone.defects.push_back(crack({-1.5, -0.5, 0.6}));
        all.push_back({"defects, allowance", stone, tolkowsky(), 0.05});
        all.push_back({"defects, union, allowance", stone, twins(), 0.05});
    }
    {
        Stone stone = sampleStone(800);
        stone.defects.resize(6);
        for (Defect& defect : stone.defects)
            defect.policy = DefectPolicy::MustBeCutAway;
        all.push_back({"demo stone", stone, tolkowsky(), 0.0});
    }
    return all;
}

// On each facet no point of the triangle lies lower than its lowest corner.
double leastPossible(const ConvexPart& part, const Quaterniond& rotation, const Vector3d& centre,
                     double allowance, const Corners& corners) {
    Vector3d local[3];
    for (int i = 0; i < 3; ++i)
        local[i] = rotation.conjugate() * (corners[static_cast<std::size_t>(i)] - centre);
    double bound = -std::numeric_limits<double>::infinity();
    for (const Facet& facet : part.facets) {
        const double lowest = std::min(
            {facet.normal.dot(local[0]), facet.normal.dot(local[1]), facet.normal.dot(local[2])});
        bound = std::max(bound, (lowest - allowance) / facet.distance);
    }
    return bound;
}

struct Candidate {
    double bound;
    const Corners* corners;
    const ConvexPart* part;
};

// The least over all triangles and parts, by programmes for those that can hold it.
double leastByGlpk(const Trial& trial, const std::vector<Corners>& triangles,
                   const Quaterniond& rotation, const Vector3d& centre, long long& programmes) {
    std::vector<Candidate> candidates;
    for (const Corners& corners : triangles)
        for (const ConvexPart& part : trial.design.parts)
            candidates.push_back(
                {leastPossible(part, rotation, centre, trial.allowance_mm, corners), &corners,
                 &part});
    std::sort(candidates.begin(), candidates.end(),
              [](const Candidate& a, const Candidate& b) { return a.bound < b.bound; });
    double least = std::numeric_limits<double>::infinity();
    for (const Candidate& candidate : candidates) {
        if (candidate.bound > least + 1e-9 * std::abs(least)) break;
        ++programmes;
        least = std::min(least, triangleByGlpk(*candidate.part, rotation, centre,
                                               trial.allowance_mm, *candidate.corners));
    }
    return least;
}

bool anyEnters(const Trial& trial, const std::vector<Corners>& triangles,
               const Quaterniond& rotation, const Vector3d& centre, double size) {
    return std::any_of(triangles.begin(), triangles.end(), [&](const Corners& corners) {
        return std::any_of(
            trial.design.parts.begin(), trial.design.parts.end(), [&](const ConvexPart& part) {
                return enters(part, rotation, centre, size, corners, trial.allowance_mm);
            });
    });
}

TEST(GaugeAtManyPoses, AgreesWithProgrammesWithClippingAndWithTheFinishedStone) {
    const char* text = std::getenv("MACLE_TEST_POSES");
    const int wanted = text ? std::max(1, std::atoi(text)) : 210;
    const std::vector<Trial> all = trials();
    Random random(9);
    long long programmes = 0, poses = 0, finished = 0;
    double worst = 0.0;
    for (const Trial& trial : all) {
        SCOPED_TRACE(trial.name);
        const Obstacles obstacles(trial.stone);
        const Gauge gauge(obstacles, trial.design, {trial.allowance_mm});
        const RoughCutter cutter(trial.stone.rough);
        const std::vector<Corners> triangles = obstaclesOf(trial.stone);
        const Box box = bounds(trial.stone.rough.mesh);
        int warm = -1;
        for (int i = 0;
             i < (wanted + static_cast<int>(all.size()) - 1) / static_cast<int>(all.size());) {
            const Quaterniond rotation = anyRotation(random);
            const Vector3d centre = box.centre() + inBall(random, 0.4 * box.extent().maxCoeff());
            if (!obstacles.admissibleCentre(centre)) continue;
            ++i;
            ++poses;
            const GaugeAnswer answer = gauge.largest(rotation, centre, warm);
            warm = answer.triangle;
            const double size = answer.size_mm;
            const double judged = leastByGlpk(trial, triangles, rotation, centre, programmes);
            // Sizes near zero come of differences of lengths some millimetres long.
            const double scale = std::max(std::abs(judged), 1e-3);
            worst = std::max(worst, std::abs(size - judged) / scale);
            EXPECT_NEAR(size, judged, 1e-9 * scale);
            if (!(size > 1e-3)) continue;
            EXPECT_FALSE(anyEnters(trial, triangles, rotation, centre, 0.999 * size));
            EXPECT_TRUE(anyEnters(trial, triangles, rotation, centre, 1.001 * size));
            // The finished stone knows neither defects nor allowance, and takes for inside what
            // pokes out by less than its tolerance.
            if (answer.source != 0 || trial.allowance_mm > 0.0 ||
                size < 1e5 * tolerance::kInside_mm)
                continue;
            ++finished;
            const Placement below{rotation, centre, 0.999 * size};
            const Placement above{rotation, centre, 1.001 * size};
            EXPECT_TRUE(cutter.finish(trial.design, below, false).inside);
            EXPECT_FALSE(cutter.finish(trial.design, above, false).inside);
            if (HasFailure()) return;
        }
    }
    RecordProperty("poses", static_cast<int>(poses));
    RecordProperty("programmes", static_cast<int>(programmes));
    RecordProperty("finished_stones", static_cast<int>(2 * finished));
    RecordProperty("worst_relative_1e15", static_cast<int>(worst * 1e15));
}

}  // namespace
}  // namespace macle
