#include "core/fit/gauge.h"

#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/fit/gauge_kernel.h"
#include "core/fit/triangle_minimum.h"
#include "fit_bodies.h"

namespace macle {
namespace {

using namespace fit_bodies;

ErrorCode codeOf(const std::function<void()>& job) {
    try {
        job();
    } catch (const Error& error) {
        return error.code();
    }
    ADD_FAILURE() << "no error";
    return ErrorCode::Internal;
}

void agreesWithProgrammes(const Stone& stone, const Design& design, double allowance, int poses,
                          double stray, Random& random) {
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, design, {allowance});
    const std::vector<Corners> corners = obstaclesOf(stone);
    const std::vector<double> margins = marginsOf(stone);
    int tried = 0;
    while (tried < poses) {
        const Quaterniond rotation = anyRotation(random);
        const Vector3d centre = inBall(random, stray);
        if (!obstacles.admissibleCentre(centre)) continue;
        ++tried;
        const GaugeAnswer answer = gauge.largest(rotation, centre);
        double least = std::numeric_limits<double>::infinity();
        for (std::size_t i = 0; i < corners.size(); ++i)
            for (const ConvexPart& part : design.parts) {
                const Corners& triangle = corners[i];
                // Triangles that cannot matter are left out by their corners' distance alone.
                double farthest = 0.0, nearest = least;
                for (const Facet& facet : part.facets)
                    farthest = std::max(farthest, facet.distance);
                for (const Vector3d& corner : triangle)
                    nearest = std::min(nearest, (corner - centre).norm());
                const double edge = std::max((triangle[1] - triangle[0]).norm(),
                                             (triangle[2] - triangle[0]).norm());
                if (corners.size() > 100 && nearest - edge > 4.0 * farthest * least) continue;
                least = std::min(least, triangleByGlpk(part, rotation, centre,
                                                       allowance + margins[i], triangle));
            }
        EXPECT_NEAR(answer.size_mm, least, 1e-9 * std::abs(least) + 1e-12);
    }
}

TEST(Gauge, EqualsALinearProgrammePerTriangleOnAnOctahedron) {
    Random random(1);
    const Stone stone = octahedronStone(10.0);
    for (const double allowance : {0.0, 0.15})
        for (const Design& design : {tolkowsky(), cube(), twins()})
            agreesWithProgrammes(stone, design, allowance, 15, 2.5, random);
}

TEST(Gauge, EqualsALinearProgrammePerTriangleOnABodyThatIsNotConvex) {
    Random random(2);
    Stone stone = stoneOf(notchedBall(9, 4.0));
    stone.defects.push_back(ellipsoid("seed", {0.9, 0.7, -1.0}, {0.2, 0.3, 0.15}));
    agreesWithProgrammes(stone, tolkowsky(), 0.05, 8, 2.5, random);
    agreesWithProgrammes(stone, twins(), 0.0, 8, 2.5, random);
    stone.defects.back().margin_mm = 0.25;
    stone.defects.push_back(ellipsoid("cloud", {-1.2, 0.4, 0.9}, {0.3, 0.2, 0.2}));
    stone.defects.back().margin_mm = 0.06;
    agreesWithProgrammes(stone, tolkowsky(), 0.05, 8, 2.5, random);
    agreesWithProgrammes(stone, twins(), 0.0, 8, 2.5, random);
}

// Every triangle looked at, no tree: the same bits. The masked blocks of facets and the bounds of
// boxes must not change anything, whatever the start.
TEST(Gauge, GivesTheBitsOfEveryTriangleLookedAtWarmOrCold) {
    Random random(3);
    for (const Design& design : {tolkowsky(), twins()}) {
        Stone stone = stoneOf(notchedBall(40, 5.0));
        for (const double margin : {0.0, 0.1, 0.3}) {
            const Vector3d centre(2.0 - 10.0 * margin, 1.0, 10.0 * margin - 1.5);
            stone.defects.push_back(ellipsoid("seed", centre, {0.2, 0.3, 0.25}));
            stone.defects.back().margin_mm = margin;
        }
        const Obstacles obstacles(stone);
        const Gauge gauge(obstacles, design, {0.02});
        const ObstacleTree& tree = obstacles.tree();
        PoseQuery query(tree, gauge.prepared());
        for (int i = 0; i < 25; ++i) {
            const Quaterniond rotation = anyRotation(random);
            const Vector3d centre = inBall(random, 3.0);
            query.aim(rotation, centre);
            const Contact found = query.smallest(-1);
            double least = std::numeric_limits<double>::infinity();
            int triangle = -1;
            for (int t = 0; t < static_cast<int>(tree.triangles().size()); ++t) {
                const Contact alone = query.onTriangle(t);
                if (alone.value < least) {
                    least = alone.value;
                    triangle = t;
                }
            }
            EXPECT_EQ(found.value, least);
            EXPECT_EQ(found.triangle, triangle);
        }
    }
}

TEST(Gauge, AnswersWarmAsColdOnTenThousandPoses) {
    Random random(4);
    Stone stone = stoneOf(notchedBall(60, 5.0));
    stone.defects.push_back(ellipsoid("seed", {1.5, 0.5, -1.0}, {0.4, 0.3, 0.5}));
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, tolkowsky(), {0.01});
    int warm = -1;
    for (int i = 0; i < 10000; ++i) {
        const Quaterniond rotation = anyRotation(random);
        const Vector3d centre = inBall(random, 4.0);
        const GaugeAnswer cold = gauge.largest(rotation, centre);
        const GaugeAnswer again = gauge.largest(rotation, centre, warm);
        ASSERT_EQ(cold.size_mm, again.size_mm);
        ASSERT_EQ(cold.triangle, again.triangle);
        ASSERT_EQ(cold.facet, again.facet);
        ASSERT_EQ(cold.point_mm, again.point_mm);
        if (again.triangle >= 0) warm = again.triangle;
    }
}

// What a query met before guides it and must not show in what it tells.
TEST(Gauge, GathersTheSameContactsWhateverWentBefore) {
    Random random(8);
    Stone stone = stoneOf(notchedBall(40, 5.0));
    stone.defects.push_back(ellipsoid("seed", {1.5, 0.5, -1.0}, {0.4, 0.3, 0.5}));
    const Obstacles obstacles(stone);
    for (const Design& design : {tolkowsky(), twins()}) {
        const Gauge gauge(obstacles, design, {0.02});
        PoseQuery used(obstacles.tree(), gauge.prepared());
        std::vector<Contact> contacts, again;
        for (int i = 0; i < 40; ++i) {
            const Quaterniond rotation = anyRotation(random);
            const Vector3d centre = inBall(random, 2.0);
            PoseQuery fresh(obstacles.tree(), gauge.prepared());
            for (PoseQuery* query : {&used, &fresh})
                query->aim(rotation, centre);
            const double size = used.smallest(-1).value;
            for (const double height : {0.001, 0.1, 1.0}) {
                used.gather(size, size + height, 0.3 * height, 0.5, contacts);
                fresh.gather(size, size + height, 0.3 * height, 0.5, again);
                ASSERT_EQ(contacts.size(), again.size());
                for (std::size_t k = 0; k < contacts.size(); ++k) {
                    ASSERT_EQ(contacts[k].triangle, again[k].triangle);
                    ASSERT_EQ(contacts[k].value, again[k].value);
                    ASSERT_EQ(contacts[k].slope, again[k].slope);
                }
            }
        }
    }
}

TEST(Gauge, NothingEntersJustBelowTheSizeAndSomethingJustAbove) {
    Random random(5);
    Stone stone = stoneOf(notchedBall(24, 4.0));
    stone.defects.push_back(ellipsoid("seed", {0.9, 0.7, -1.0}, {0.2, 0.3, 0.15}));
    const Obstacles obstacles(stone);
    const std::vector<Corners> corners = obstaclesOf(stone);
    for (const Design& design : {tolkowsky(), twins()}) {
        const Gauge gauge(obstacles, design, {});
        for (int i = 0; i < 12; ++i) {
            const Quaterniond rotation = anyRotation(random);
            const Vector3d centre = inBall(random, 2.0);
            if (!obstacles.admissibleCentre(centre)) continue;
            const double size = gauge.largest(rotation, centre).size_mm;
            bool below = false, above = false;
            for (const Corners& triangle : corners)
                for (const ConvexPart& part : design.parts) {
                    below |= enters(part, rotation, centre, 0.999 * size, triangle);
                    above |= enters(part, rotation, centre, 1.001 * size, triangle);
                }
            EXPECT_FALSE(below);
            EXPECT_TRUE(above);
        }
    }
}

TEST(Gauge, NamesTheLowestFacetThatIsStoppedAndThePoint) {
    Random random(6);
    const Stone stone = stoneOf(notchedBall(20, 4.0));
    const Obstacles obstacles(stone);
    const Design design = tolkowsky();
    const Gauge gauge(obstacles, design, {0.03});
    for (int i = 0; i < 100; ++i) {
        const Quaterniond rotation = anyRotation(random);
        const Vector3d centre = inBall(random, 1.5);
        const GaugeAnswer answer = gauge.largest(rotation, centre);
        ASSERT_EQ(answer.source, 0);
        ASSERT_EQ(answer.part, 0);
        const Vector3d local = rotation.conjugate() * (answer.point_mm - centre);
        int lowest = -1;
        for (int k = 0; k < static_cast<int>(design.parts[0].facets.size()); ++k) {
            const Facet& facet = design.parts[0].facets[k];
            const double value = (facet.normal.dot(local) - 0.03) / facet.distance;
            EXPECT_LE(value, answer.size_mm * (1.0 + 1e-12));
            if (lowest < 0 && value > answer.size_mm - 0.9e-9 * answer.size_mm) lowest = k;
        }
        EXPECT_EQ(answer.facet, lowest);
    }
}

// |x| + |y| + |z| <= c holds a cube of half edge h about the centre when 3 h <= c; with the
// allowance each of its planes stands a farther out, so that the edge is 2 (c / 3 - a).
TEST(Gauge, KeepsTheAllowanceAtEveryFacet) {
    const Stone stone = octahedronStone(10.0, 3);
    const Obstacles obstacles(stone);
    const double c = 10.0 / std::numbers::sqrt2;
    for (const double a : {0.0, 0.05, 0.4, 2.0}) {
        const Gauge gauge(obstacles, cube(), {a});
        EXPECT_NEAR(gauge.largest(Quaterniond::Identity(), Vector3d::Zero()).size_mm,
                    2.0 * (c / 3.0 - a), 1e-12);
    }
    // A design like the rough itself: inradius c / sqrt 3, each face pulled in by a.
    Design same;
    same.parts.emplace_back();
    for (const double x : {-1.0, 1.0})
        for (const double y : {-1.0, 1.0})
            for (const double z : {-1.0, 1.0})
                addFacet(same.parts[0], {x, y, z}, 0.25);
    const Gauge gauge(obstacles, same, {0.1});
    EXPECT_NEAR(gauge.largest(Quaterniond::Identity(), Vector3d::Zero()).size_mm,
                (c / std::numbers::sqrt3 - 0.1) / 0.25, 1e-11);
}

// A crack over the whole of a cube's upper face: the face stops a margin and an allowance below it.
TEST(Gauge, KeepsTheMarginOfADefect) {
    Stone stone = stoneOf(notchedBall(30, 8.0));
    Defect crack;
    crack.name = "crack";
    crack.shape = Sheet{{{-4, -4, 2}, {4, -4, 2}, {4, 4, 2}, {-4, 4, 2}}};
    for (const double margin : {0.0, 0.01, 0.3}) {
        crack.margin_mm = margin;
        stone.defects = {crack};
        const Obstacles obstacles(stone);
        const Gauge gauge(obstacles, cube(), {0.05});
        const GaugeAnswer answer = gauge.largest(Quaterniond::Identity(), Vector3d::Zero());
        EXPECT_NEAR(answer.size_mm, 2.0 * (2.0 - 0.05 - margin), 1e-12);
    }
}

TEST(Gauge, RefusesACentreOutsideOrInADefect) {
    Stone stone = stoneOf(notchedBall(20, 4.0));
    stone.defects.push_back(ellipsoid("seed", {1.0, 0.0, 0.0}, {0.5, 0.5, 0.5}));
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    for (const Vector3d& centre :
         {Vector3d(1.1, 0.1, 0.0), Vector3d(9.0, 0.0, 0.0), Vector3d(std::nan(""), 0.0, 0.0)}) {
        const GaugeAnswer answer = gauge.largest(Quaterniond::Identity(), centre);
        EXPECT_EQ(answer.size_mm, 0.0);
        EXPECT_EQ(answer.source, -1);
    }
    EXPECT_EQ(gauge.largest(Quaterniond::Identity(), {0.2, 0.0, 0.0}).source, 1);
}

TEST(Gauge, MeetsADefectOnlyWhenItMustBeCutAway) {
    Stone stone = stoneOf(notchedBall(20, 4.0));
    stone.defects.push_back(ellipsoid("seed", {1.0, 0.0, 0.0}, {0.5, 0.5, 0.5}));
    Defect crack;
    crack.name = "crack";
    crack.shape = Sheet{{{-0.8, -1, -1}, {-0.8, 1, -1}, {-0.8, 1, 1}, {-0.8, -1, 1}}};
    stone.defects.push_back(crack);
    {
        const Obstacles obstacles(stone);
        const Gauge gauge(obstacles, cube(), {});
        // Half way between the flat crack and the defect's near end, or at the crack.
        const GaugeAnswer answer = gauge.largest(Quaterniond::Identity(), {-0.3, 0.0, 0.0});
        EXPECT_NEAR(answer.size_mm, 1.0, 1e-12);
        EXPECT_EQ(obstacles.sourceName(answer.source), "crack");
        EXPECT_TRUE(obstacles.admissibleCentre({-0.9, 0.0, 0.0}));
    }
    for (Defect& defect : stone.defects)
        defect.policy = DefectPolicy::MayStay;
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    EXPECT_EQ(obstacles.sourceName(gauge.largest(Quaterniond::Identity(), {1, 0, 0}).source),
              "skin");
}

TEST(Gauge, SaysWhatIsWrongWithItsInput) {
    const Stone stone = octahedronStone(10.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cube(), {});
    EXPECT_EQ(codeOf([&] { gauge.largest(Quaterniond(0, 0, 0, 0), Vector3d::Zero()); }),
              ErrorCode::BadUsage);
    EXPECT_EQ(codeOf([&] { Gauge(obstacles, cube(), {-0.1}); }), ErrorCode::BadUsage);
    EXPECT_EQ(codeOf([&] { Gauge(obstacles, Design(), {}); }), ErrorCode::BadInput);
    Design shifted = cube();
    shifted.parts[0].facets[2].distance = -0.1;
    EXPECT_EQ(codeOf([&] { Gauge(obstacles, shifted, {}); }), ErrorCode::BadInput);
    EXPECT_EQ(codeOf([&] { Obstacles(Stone{}); }), ErrorCode::BadInput);
    Stone broken = octahedronStone(10.0);
    broken.rough.mesh.vertices[1].y() = std::numeric_limits<double>::infinity();
    EXPECT_EQ(codeOf([&] { Obstacles{broken}; }), ErrorCode::BadInput);
    Progress progress;
    progress.cancel();
    EXPECT_EQ(codeOf([&] { Obstacles(octahedronStone(10.0, 5), &progress); }),
              ErrorCode::Cancelled);
}

TEST(Obstacles, TellInsideFromOutsideLikeTheSolidAngle) {
    Random random(7);
    Stone stone = stoneOf(notchedBall(16, 4.0));
    stone.defects.push_back(ellipsoid("one", {1.0, 0.0, 0.0}, {0.9, 0.5, 0.5}));
    stone.defects.push_back(ellipsoid("two", {1.6, 0.2, 0.0}, {0.6, 0.5, 0.9}));
    Defect inward;  // recorded inside out
    inward.name = "three";
    TriangleMesh mesh = defectSurface(ellipsoid("", {-1.0, 1.0, 0.0}, {0.5, 0.6, 0.7}));
    for (auto& t : mesh.triangles)
        std::swap(t[1], t[2]);
    inward.shape = mesh;
    stone.defects.push_back(inward);
    const Obstacles obstacles(stone);
    for (auto& t : mesh.triangles)
        std::swap(t[1], t[2]);
    for (int i = 0; i < 3000; ++i) {
        const Vector3d point = inBall(random, 5.0);
        const bool expected = contains(stone.rough.mesh, point) &&
                              !contains(defectSurface(stone.defects[0]), point) &&
                              !contains(defectSurface(stone.defects[1]), point) &&
                              !contains(mesh, point);
        ASSERT_EQ(obstacles.admissibleCentre(point), expected) << point.transpose();
    }
}

// Rays from these points run through corners and along edges.
TEST(Obstacles, AreNotMisledByRaysThroughCorners) {
    const Stone stone = octahedronStone(10.0, 4);
    const Obstacles obstacles(stone);
    const double c = 10.0 / std::numbers::sqrt2;
    for (const TreeTriangle& t : obstacles.tree().triangles())
        for (const double share : {0.3, 0.9, 1.1}) {
            const Vector3d corner(t.corner[0], t.corner[1], t.corner[2]);
            ASSERT_EQ(obstacles.admissibleCentre(share * corner), share < 1.0);
            const Vector3d direction = Vector3d(0.5773981, 0.5772113, 0.5774413).normalized();
            const Vector3d behind = corner - 0.5 * direction;
            ASSERT_EQ(obstacles.admissibleCentre(behind), behind.lpNorm<1>() < c);
        }
}

}  // namespace
}  // namespace macle
