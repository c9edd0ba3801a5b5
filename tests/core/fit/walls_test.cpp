#include "core/fit/walls.h"

#include <gtest/gtest.h>

#include <chrono>
#include <random>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/fit/search.h"
#include "core/solid/convex_solid.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

Stone stoneOf(const TriangleMesh& mesh) {
    Stone stone;
    stone.rough = rough(mesh);
    return stone;
}

// A box with its far end cut off is a shorter box.
const Vector3d kLow(-3.0, -2.0, -2.0), kHigh(3.0, 2.0, 2.0);

}  // namespace

TEST(Walls, AWalledBoxIsAShorterBox) {
    const Obstacles whole(stoneOf(boxMesh(kLow, kHigh)));
    const Obstacles shorter(stoneOf(boxMesh(kLow, {1.2, 2.0, 2.0})));
    std::mt19937_64 random(9);
    const auto unit = [&] { return static_cast<double>(random() >> 11) * 0x1.0p-53; };
    for (const char* cut : {"round", "heart"})
        for (const double allowance : {0.0, 0.1}) {
            const Design design = makeDesign(cut, {});
            const Gauge walled(whole, design, {allowance}, {{Vector3d::UnitX(), 1.2}});
            const Gauge boxed(shorter, design, {allowance});
            for (int n = 0; n < 200; ++n) {
                const Eigen::Quaterniond turn =
                    Eigen::Quaterniond(unit() - 0.5, unit() - 0.5, unit() - 0.5, unit() - 0.6)
                        .normalized();
                const Vector3d centre(6.0 * unit() - 3.0, 4.0 * unit() - 2.0, 4.0 * unit() - 2.0);
                const GaugeAnswer a = walled.largest(turn, centre);
                const GaugeAnswer b = boxed.largest(turn, centre);
                ASSERT_NEAR(a.size_mm, b.size_mm, 1e-9 * (1.0 + b.size_mm)) << n;
                ASSERT_EQ(a.source < 0, b.source < 0);
                if (b.size_mm > 0.5 && n < 5) {
                    const Placement start{turn, centre, b.size_mm};
                    const double grown = settle(walled, start).size_mm;
                    EXPECT_GE(grown, b.size_mm);
                    EXPECT_NEAR(grown, settle(boxed, start).size_mm, 0.05 * grown);
                }
            }
        }
}

TEST(Walls, ASearchKeepsOnTheInnerSide) {
    const Stone stone = stoneOf(pebble(3));
    const Obstacles obstacles(stone);
    const Design design = makeDesign("round", {});
    const std::vector<Wall> walls = {{Vector3d(1.0, 2.0, 2.0) / 3.0, 0.4},
                                     {-Vector3d::UnitX(), 0.9}};
    const Gauge gauge(obstacles, design, {0.05}, walls);
    FitOptions options;
    options.seconds = 0.0;
    options.poses = 800;
    options.threads = 1;
    const FitResult found = findBest(gauge, options);
    EXPECT_GT(found.placement.size_mm, 2.0);
    // The same in the piece itself.
    for (const ConvexPart& part : design.parts)
        for (const Vector3d& corner : placed(makeSolid(part), found.placement).vertices)
            for (const Wall& wall : walls)
                EXPECT_LE(wall.normal.dot(corner), wall.offset_mm - 0.05 + 1e-9);
    options.threads = 2;
    EXPECT_EQ(findBest(gauge, options).placement, found.placement);
}

TEST(Walls, WhatIsNoWallIsRefused) {
    const Obstacles obstacles(stoneOf(octahedronMesh(2.0)));
    const Design design = makeDesign("round", {});
    EXPECT_THROW(Gauge(obstacles, design, {}, {{Vector3d::Zero(), 0.0}}), Error);
    EXPECT_THROW(Gauge(obstacles, design, {}, {{Vector3d::UnitX(), std::nan("")}}), Error);
    const Gauge shut(obstacles, design, {}, {{Vector3d::UnitX(), -5.0}});
    EXPECT_EQ(shut.largest(Eigen::Quaterniond::Identity(), Vector3d::Zero()).source, -1);
    FitOptions options;
    options.seconds = 0.0;
    options.poses = 10;
    EXPECT_THROW(findBest(shut, options), Error);
}
