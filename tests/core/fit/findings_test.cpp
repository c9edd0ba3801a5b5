// What a fit tells beside the best placement: others, what holds it, free proportions, other aims.
#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/fit/crystal_tables.h"
#include "core/fit/explain.h"
#include "core/fit/free_fit.h"
#include "core/fit/starts.h"
#include "core/fit/triangle_minimum.h"
#include "core/fit/worth_fit.h"
#include "core/solid/convex_solid.h"
#include "fit_bodies.h"

namespace macle {
namespace {

using namespace fit_bodies;

// Edges x, y, z; its middle at the origin but for the side at +z, which is moved by `more`.
Stone block(double x, double y, double z, double more = 0.0) {
    ConvexPart part;
    addFacet(part, {1, 0, 0}, 0.5 * x);
    addFacet(part, {-1, 0, 0}, 0.5 * x);
    addFacet(part, {0, 1, 0}, 0.5 * y);
    addFacet(part, {0, -1, 0}, 0.5 * y);
    addFacet(part, {0, 0, 1}, 0.5 * z + more);
    addFacet(part, {0, 0, -1}, 0.5 * z);
    return stoneOf(triangulated(makeSolid(part)));
}

// A triangle seen so nearly edge-on by two facets that its edges lose their last digits.
TEST(TriangleMinimum, EndsOnATriangleSeenEdgeOn) {
    const double g[6][3] = {{-1.2642161061338086e-05, 0.44972006664675457, 1.9487821482904177},
                            {1.2642161061338086e-05, -0.44972006664675457, -1.9487821482904177},
                            {3.2692690843383332e-06, 1.9487821483313938, -0.44972006663500219},
                            {-3.2692690843383332e-06, -1.9487821483313938, 0.44972006663500219},
                            {1.9999999999573723, -3.4282985719724657e-07, 1.3053536852325465e-05},
                            {-1.9999999999573723, 3.4282985719724657e-07, -1.3053536852325465e-05}};
    FacetDoubles facets;
    for (int lane = 0; lane < FacetDoubles::kLanes; ++lane) {
        const double* one = g[lane < 6 ? lane : 0];
        facets.gx[lane] = one[0];
        facets.gy[lane] = one[1];
        facets.gz[lane] = one[2];
        facets.b[lane] = 0.0;
    }
    const Vector3d corners[3] = {{0.15625000000008182, 2.4999999999999996, 1.7187499999999996},
                                 {0.31250000000008182, 2.4999999999999996, 1.5624999999999996},
                                 {8.1837314702681851e-14, 2.4999999999999996, 1.5624999999999996}};
    const TriangleMinimum found =
        minimumOverTriangle(&facets, BlockLayout{1, 1, 1}, 1, corners, 1e9);
    ConvexPart part;
    for (const auto& one : g) {
        const Vector3d normal(one[0], one[1], one[2]);
        addFacet(part, normal, 1.0 / normal.norm());
    }
    const double least = triangleByGlpk(part, Quaterniond::Identity(), Vector3d::Zero(), 0.0,
                                        {corners[0], corners[1], corners[2]});
    EXPECT_NEAR(found.value, least, 1e-9 * least);
}

TEST(FlatDirections, AreTheFacesOfAnOctahedron) {
    const Stone stone = octahedronStone(6.0, 3);
    const Obstacles obstacles(stone);
    const std::vector<Vector3d> flats = flatDirections(obstacles.tree(), 20);
    ASSERT_EQ(flats.size(), 8u);
    for (const Vector3d& flat : flats)
        EXPECT_LT((flat.cwiseAbs() - Vector3d::Constant(1.0 / std::sqrt(3.0))).norm(), 1e-12);
    EXPECT_EQ(flatDirections(obstacles.tree(), 3).size(), 3u);
}

TEST(CrystalTables, AreTheFacesOfTheThreeForms) {
    Stone stone = octahedronStone(6.0);
    EXPECT_TRUE(crystalTables(stone).empty());
    stone.axes.emplace();
    stone.axes->rotation = Quaterniond(0.3, 0.5, -0.4, 0.7).normalized();
    const std::vector<Vector3d> tables = crystalTables(stone);
    ASSERT_EQ(tables.size(), 26u);
    const FaceForm forms[] = {FaceForm::Cube, FaceForm::Octahedron, FaceForm::Dodecahedron};
    for (std::size_t i = 0; i < tables.size(); ++i)
        EXPECT_NEAR(angleToForm_deg(*stone.axes,
                                    forms[i < 6    ? 0
                                          : i < 14 ? 1
                                                   : 2],
                                    tables[i]),
                    0.0, 1e-5);
}

// A few rounds suffice when the search is told of the cube face that the table lies on.
TEST(Starts, ADirectionOfTheCrystalIsTriedFirst) {
    const Stone stone = octahedronStone(8.0, 1);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, tolkowsky(), {});
    FitOptions options = byPoses(500);
    options.tableDirections = {Vector3d::UnitZ()};
    const double told = findBest(gauge, options).placement.size_mm;
    EXPECT_GT(told, 0.999 * findBest(gauge, byPoses(4000)).placement.size_mm);
}

TEST(Starts, AGivenPlacementIsNeverLost) {
    const Stone stone = stoneOf(notchedBall(40, 4.0));
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, tolkowsky(), {});
    const FitResult good = findBest(gauge, byPoses(4000));
    FitOptions options = byPoses(1);
    options.starts = {good.placement};
    EXPECT_GE(findBest(gauge, options).placement.size_mm, good.placement.size_mm * (1 - 1e-12));
}

TEST(Others, FitAndAreClearlyDifferent) {
    Stone stone = stoneOf(notchedBall(40, 4.0));
    stone.defects.push_back(ellipsoid("crystal", {0.5, 0.2, 0.3}, {0.5, 0.4, 0.3}));
    const Obstacles obstacles(stone);
    const Design design = tolkowsky();
    const Gauge gauge(obstacles, design, {});
    FitOptions options = byPoses(6000);
    options.different = 5;
    options.threads = 1;
    const FitResult found = findBest(gauge, options);
    ASSERT_GE(found.others.size(), 2u);
    ASSERT_LE(found.others.size(), 5u);
    std::vector<Placement> all{found.placement};
    all.insert(all.end(), found.others.begin(), found.others.end());
    const ConvexSolid solid = makeSolid(design.parts[0]);
    for (std::size_t i = 0; i < all.size(); ++i) {
        EXPECT_NEAR(gauge.largest(all[i].rotation, all[i].translation_mm).size_mm, all[i].size_mm,
                    1e-12);
        // Neither of two reaches nowhere but within a little of the other.
        for (std::size_t j = 0; j < i; ++j) {
            EXPECT_GE(all[j].size_mm, all[i].size_mm);
            double farthest = 0.0;
            for (const auto& [a, b] : {std::pair(all[i], all[j]), std::pair(all[j], all[i])})
                for (const Vector3d& vertex : placed(solid, a).vertices) {
                    const Vector3d local =
                        b.rotation.conjugate() * (vertex - b.translation_mm) / b.size_mm;
                    for (const Facet& facet : design.parts[0].facets)
                        farthest = std::max(farthest, facet.normal.dot(local) - facet.distance);
                }
            EXPECT_GT(farthest, 0.5 * kClearlyDifferent) << i << " and " << j;
        }
    }
    options.threads = 2;
    const FitResult again = findBest(gauge, options);
    ASSERT_EQ(again.others.size(), found.others.size());
    for (std::size_t i = 0; i < found.others.size(); ++i) {
        EXPECT_EQ(again.others[i].size_mm, found.others[i].size_mm);
        EXPECT_EQ(again.others[i].translation_mm, found.others[i].translation_mm);
    }
}

// A cube between two walls: half of its size hangs on each, and a wall that gives way by d lets it
// grow by d.
TEST(Explain, SharesAndRatesOfACubeBetweenWalls) {
    const Stone stone = block(9.0, 8.0, 3.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    const Explanation found = explain(gauge, {Quaterniond::Identity(), {0.1, -0.2, 0.0}, 1.0});
    EXPECT_FALSE(found.free);
    double up = 0.0, down = 0.0, rateUp = 0.0;
    for (const FitHold& hold : found.holds) {
        EXPECT_EQ(hold.limit.source, "skin");
        EXPECT_NEAR(std::abs(hold.outward.z()), 1.0, 1e-9);
        (hold.outward.z() > 0 ? up : down) += hold.share;
        if (hold.outward.z() > 0) rateUp += hold.gain_mm3_per_mm;
    }
    EXPECT_NEAR(up, 0.5, 1e-6);
    EXPECT_NEAR(down, 0.5, 1e-6);
    EXPECT_NEAR(rateUp, 3.0 * 3.0 * 3.0, 1e-4);  // d(s^3) = 3 s^2 d

    constexpr double d = 1e-4;
    const Stone wider = block(9.0, 8.0, 3.0, d);
    const Obstacles more(wider);
    const Gauge second(more, cube(), {});
    const double size = settle(second, {Quaterniond::Identity(), {0.1, -0.2, 0.0}, 1.0}).size_mm;
    EXPECT_NEAR((std::pow(size, 3) - 27.0) / d, rateUp, 0.02);
}

TEST(Explain, SeesThatAPlacementIsFreeToMove) {
    const Stone stone = block(9.0, 8.0, 3.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    EXPECT_TRUE(explain(gauge, {Quaterniond::Identity(), {0.0, 0.0, 0.4}, 1.0}).free);
    EXPECT_THROW(explain(gauge, {Quaterniond::Identity(), {0.0, 0.0, 5.0}, 1.0}), Error);
}

TEST(Explain, PricesADefectByTheFitWithoutIt) {
    Stone stone = block(5.0, 5.0, 5.0);
    stone.defects.push_back(ellipsoid("crystal", {0, 0, 2.0}, {0.3, 0.3, 0.3}));
    stone.defects.push_back(ellipsoid("far", {2.4, 2.4, -2.4}, {0.01, 0.01, 0.01}));
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    const FitResult best = findBest(gauge, byPoses(3000));
    ASSERT_LT(best.placement.size_mm, 4.9);
    const Explanation found = explain(stone, gauge, best.placement, byPoses(3000));
    const auto cost = std::find_if(found.defects.begin(), found.defects.end(),
                                   [](const DefectCost& c) { return c.name == "crystal"; });
    ASSERT_NE(cost, found.defects.end());
    EXPECT_EQ(cost->defect, 0);
    // Without it the tiny one in the corner holds the cube to a little less than the block.
    EXPECT_GT(cost->gain_mm3, std::pow(4.85, 3) - std::pow(best.placement.size_mm, 3));
    EXPECT_LT(cost->gain_mm3, std::pow(5.0, 3) - std::pow(best.placement.size_mm, 3) + 1e-9);
}

TEST(FreeFit, IsAtLeastAsHeavyAsAnyPinnedFit) {
    const Stone stone = octahedronStone(8.0, 1);
    const Obstacles obstacles(stone);
    const FreeFitResult free =
        findBestFree(obstacles, "round", {}, {}, {{"crown_deg", 30, 36}, {"table_percent", 54, 62}},
                     {}, byPoses(1000));
    double heaviest = 0.0;
    for (const double crown : {30.0, 36.0})
        for (const double table : {54.0, 62.0}) {
            const Design design =
                makeDesign("round", {{"crown_deg", crown}, {"table_percent", table}});
            const Gauge gauge(obstacles, design, {});
            heaviest = std::max(heaviest,
                                designVolume(design) *
                                    std::pow(findBest(gauge, byPoses(800)).placement.size_mm, 3));
        }
    EXPECT_GE(free.volume_mm3, heaviest * (1.0 - 1e-6));
    const Design design = makeDesign("round", free.proportions);
    const Placement& best = free.fit.placement;
    EXPECT_NEAR(designVolume(design) * std::pow(best.size_mm, 3), free.volume_mm3,
                1e-9 * free.volume_mm3);
    const Gauge gauge(obstacles, design, {});
    EXPECT_NEAR(gauge.largest(best.rotation, best.translation_mm).size_mm, best.size_mm, 1e-12);
    EXPECT_GE(free.proportions.at("crown_deg"), 30.0);
    EXPECT_LE(free.proportions.at("table_percent"), 62.0);
}

TEST(FreeFit, IsTheSameOnAnyNumberOfThreads) {
    const Stone stone = stoneOf(notchedBall(16, 3.0));
    const Obstacles obstacles(stone);
    FitOptions options = byPoses(600, 5);
    options.threads = 1;
    const std::vector<FreeProportion> ranges{{"pavilion_deg", 40, 42}, {"girdle_percent", 2, 4}};
    const FreeFitResult one = findBestFree(obstacles, "round", {}, {}, ranges, {0.02}, options);
    options.threads = 2;
    const FreeFitResult two = findBestFree(obstacles, "round", {}, {}, ranges, {0.02}, options);
    EXPECT_EQ(one.volume_mm3, two.volume_mm3);
    EXPECT_EQ(one.proportions, two.proportions);
    EXPECT_EQ(one.fit.poses, two.fit.poses);
}

TEST(FreeFit, RefusesWhatCannotBeFree) {
    const Stone stone = octahedronStone(8.0);
    const Obstacles obstacles(stone);
    const auto attempt = [&](const std::vector<FreeProportion>& free) {
        findBestFree(obstacles, "round", {}, {}, free, {}, byPoses(10));
    };
    EXPECT_THROW(attempt({}), Error);
    EXPECT_THROW(attempt({{"nonsense", 1, 2}}), Error);
    EXPECT_THROW(attempt({{"crown_deg", 36, 30}}), Error);
    EXPECT_THROW(attempt({{"crown_deg", -100, 30}}), Error);
    EXPECT_THROW(attempt({{"crown_deg", 30, 35}, {"crown_deg", 30, 35}}), Error);
}

// A cube in a long block, worth more the farther it lies along x: at the end, and as large as ever.
TEST(WorthFit, MovesToWhereTheStoneIsWorthMost) {
    const Stone stone = block(9.0, 3.0, 3.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    const auto worth = [](const Placement& p) { return p.size_mm + 0.2 * p.translation_mm.x(); };
    const WorthFitResult found = findWorthiest(gauge, worth, byPoses(12000));
    EXPECT_NEAR(found.worth, 3.0 + 0.2 * 3.0, 0.005);
    EXPECT_GE(found.worth, found.heaviest);
    const GaugeAnswer answer =
        gauge.largest(found.fit.placement.rotation, found.fit.placement.translation_mm);
    EXPECT_LE(found.fit.placement.size_mm, answer.size_mm * (1.0 + 1e-12));
}

// Worth most at an edge of 2.5: smaller than could be, so nothing stops it.
TEST(WorthFit, MayChooseASmallerStone) {
    const Stone stone = block(3.0, 3.0, 3.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    const auto worth = [](const Placement& p) { return -std::abs(p.size_mm - 2.5); };
    FitOptions options = byPoses(5000);
    options.threads = 1;
    const WorthFitResult found = findWorthiest(gauge, worth, options);
    EXPECT_NEAR(found.fit.placement.size_mm, 2.5, 0.002);
    EXPECT_LT(found.heaviest, found.worth);
    options.threads = 2;
    EXPECT_EQ(findWorthiest(gauge, worth, options).fit.placement.size_mm,
              found.fit.placement.size_mm);
}

TEST(WorthFit, RefusesAWorthThatIsNoNumber) {
    const Stone stone = block(3.0, 3.0, 3.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    EXPECT_THROW(findWorthiest(
                     gauge, [](const Placement&) { return std::nan(""); }, byPoses(100)),
                 Error);
}

}  // namespace
}  // namespace macle
