#include "core/solid/finished_stone.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <random>
#include <thread>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/cut/round_brilliant.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

Placement at(const Vector3d& place, double size) {
    Placement placement;
    placement.translation_mm = place;
    placement.size_mm = size;
    return placement;
}

Placement turned(Placement placement, double angle_rad, const Vector3d& axis) {
    placement.rotation = Eigen::AngleAxisd(angle_rad, axis.normalized());
    return placement;
}

Design roundDesign() {
    return roundBrilliant(RoundProportions{});
}

TriangleMesh cubeMesh(double half) {
    return boxMesh(Vector3d::Constant(-half), Vector3d::Constant(half));
}

void expectSoundMesh(const FinishedStone& finished) {
    EXPECT_TRUE(closed(finished.mesh));
    EXPECT_NEAR(signedVolume_mm3(finished.mesh), finished.volume_mm3,
                2.0 * tolerance::kVolumeRelative * finished.design_mm3);
}

}  // namespace

TEST(FinishedStone, ADesignInsideTheRoughKeepsItsOwnVolume) {
    const RoughCutter cutter(rough(cubeMesh(2.0)));
    const FinishedStone finished = cutter.finish(cubeDesign(), at({0.3, -0.2, 0.1}, 3.0), true);
    EXPECT_TRUE(finished.inside);
    EXPECT_DOUBLE_EQ(finished.volume_mm3, 27.0);
    EXPECT_DOUBLE_EQ(finished.missing_mm3, 0.0);
    EXPECT_TRUE(finished.naturals.empty());
    expectSoundMesh(finished);
}

TEST(FinishedStone, ACubePokingOutOfACubeLosesAPlate) {
    const RoughCutter cutter(rough(cubeMesh(2.0)));
    const FinishedStone finished = cutter.finish(cubeDesign(), at({0.9, 0.1, -0.2}, 3.0), true);
    EXPECT_FALSE(finished.inside);
    EXPECT_NEAR(finished.volume_mm3, 9.0 * 2.6, 1e-12);
    EXPECT_NEAR(finished.missing_mm3, 9.0 * 0.4, 1e-12);
    ASSERT_EQ(finished.naturals.size(), 1U);
    EXPECT_NEAR(finished.naturals[0].area_mm2, 9.0, 1e-8);
    EXPECT_NEAR(finished.naturals[0].depth_mm, 0.4, 1e-9);
    EXPECT_NEAR(finished.naturals[0].place_mm.x(), 2.0, 1e-9);
    EXPECT_FALSE(finished.naturals[0].girdleOnly);
    expectSoundMesh(finished);
}

TEST(FinishedStone, CubeAndOctahedronMatchTheirClosedForms) {
    const double a = 3.0;  // |x| + |y| + |z| <= a
    for (int refinement = 0; refinement < 3; ++refinement) {
        TriangleMesh skin = octahedronMesh(a);
        for (int i = 0; i < refinement; ++i)
            skin = refined(skin);
        const RoughCutter cutter(rough(skin));
        // Half edge h between a/3 and a/2: eight corners of the cube are missing.
        for (const double h : {1.05, 1.2, 1.4}) {
            const FinishedStone finished =
                cutter.finish(cubeDesign(), at(Vector3d::Zero(), 2.0 * h), true);
            const double leg = 3.0 * h - a;
            EXPECT_NEAR(finished.volume_mm3, 8.0 * h * h * h - 8.0 * leg * leg * leg / 6.0, 1e-11);
            ASSERT_EQ(finished.naturals.size(), 8U);
            for (const Natural& natural : finished.naturals) {
                EXPECT_NEAR(natural.area_mm2, std::sqrt(3.0) / 2.0 * leg * leg, 1e-8);
                EXPECT_NEAR(natural.depth_mm, h - a / 3.0, 1e-8);
            }
            expectSoundMesh(finished);
        }
        // Between a/2 and a: the octahedron without its six points; its skin hangs together.
        for (const double h : {1.6, 2.0, 2.9}) {
            const FinishedStone finished =
                cutter.finish(cubeDesign(), at(Vector3d::Zero(), 2.0 * h), true);
            EXPECT_NEAR(finished.volume_mm3, 4.0 * a * a * a / 3.0 - 4.0 * std::pow(a - h, 3.0),
                        1e-11);
            EXPECT_EQ(finished.naturals.size(), 1U);
            expectSoundMesh(finished);
        }
    }
}

TEST(FinishedStone, ARoughInsideTheDesignIsKeptWhole) {
    const TriangleMesh skin = pebble(4);
    const RoughCutter cutter(rough(skin));
    const FinishedStone finished = cutter.finish(cubeDesign(), at(Vector3d::Zero(), 10.0), true);
    EXPECT_FALSE(finished.inside);
    EXPECT_NEAR(finished.volume_mm3, signedVolume_mm3(skin), 1e-10);
    ASSERT_EQ(finished.naturals.size(), 1U);
    EXPECT_NEAR(finished.naturals[0].area_mm2, area_mm2(skin), 1e-9);
    EXPECT_FALSE(finished.naturals[0].girdleOnly);
    EXPECT_EQ(finished.mesh.triangles.size(), skin.triangles.size());
    expectSoundMesh(finished);
}

TEST(FinishedStone, ADesignOutsideTheRoughIsNoSolution) {
    const RoughCutter cutter(rough(cubeMesh(2.0)));
    // Apart, face to face, and edge to edge.
    for (const Vector3d& place :
         {Vector3d(9.0, 0.0, 0.0), Vector3d(3.5, 0.0, 0.0), Vector3d(3.5, 3.5, 0.0)}) {
        try {
            cutter.finish(cubeDesign(), at(place, 3.0), false);
            FAIL() << place.transpose();
        } catch (const Error& error) {
            EXPECT_EQ(error.code(), ErrorCode::NoSolution);
        }
    }
}

TEST(FinishedStone, FacetsInRoughFacesCountAsInside) {
    const RoughCutter cutter(rough(cubeMesh(2.0)));
    EXPECT_TRUE(cutter.finish(cubeDesign(), at({0.5, 0.5, 0.5}, 3.0), false).inside);
    EXPECT_TRUE(cutter.finish(cubeDesign(), at(Vector3d::Zero(), 4.0), false).inside);

    // One face shared, the opposite side poking out.
    const FinishedStone finished =
        cutter.finish(Design{"slab", {}, {boxPart({-2.0, -1.0, -1.0}, {2.5, 1.0, 1.0})}},
                      at({0, 0, 0}, 1.0), true);
    EXPECT_NEAR(finished.volume_mm3, 16.0, 1e-12);
    EXPECT_NEAR(finished.missing_mm3, 2.0, 1e-12);
    ASSERT_EQ(finished.naturals.size(), 1U);
    EXPECT_NEAR(finished.naturals[0].area_mm2, 4.0, 1e-8);
    expectSoundMesh(finished);
}

TEST(FinishedStone, TheExactLargestCubeInAnOctahedronOnlyTouchesIt) {
    const RoughCutter cutter(rough(octahedronMesh(3.0)));
    const auto finish = [&](double size) {
        return cutter.finish(cubeDesign(), at(Vector3d::Zero(), size), false);
    };
    EXPECT_TRUE(finish(2.0).inside);
    EXPECT_TRUE(finish(2.0 + 1e-7).inside);  // pokes out by less than tolerance::kInside_mm
    EXPECT_FALSE(finish(2.0 + 1e-4).inside);
    EXPECT_EQ(finish(2.0 + 1e-4).naturals.size(), 8U);
}

TEST(FinishedStone, DepthIsFoundInTheMiddleOfALargeTriangle) {
    // No corner of the skin lies inside the design, so corners alone would give depth 0.
    const RoughCutter cutter(rough(boxMesh({-50, -60, -70}, {0.3, 61, 72})));
    const FinishedStone finished = cutter.finish(cubeDesign(), at(Vector3d::Zero(), 2.0), false);
    ASSERT_EQ(finished.naturals.size(), 1U);
    EXPECT_NEAR(finished.naturals[0].depth_mm, 0.7, 1e-8);
    EXPECT_NEAR(finished.naturals[0].place_mm.x(), 0.3, 1e-8);
    EXPECT_LE(finished.naturals[0].place_mm.tail<2>().cwiseAbs().maxCoeff(), 0.3 + 1e-8);

    // Only one point of the octahedron's section is deepest.
    const FinishedStone pointed =
        cutter.finish(octahedronDesign(), at({0.1, 0.0, 0.0}, 2.0), false);
    ASSERT_EQ(pointed.naturals.size(), 1U);
    EXPECT_NEAR(pointed.naturals[0].depth_mm, 0.8 / std::sqrt(3.0), 1e-8);
    EXPECT_NEAR((pointed.naturals[0].place_mm - Vector3d(0.3, 0.0, 0.0)).norm(), 0.0, 1e-6);
}

TEST(FinishedStone, APitInTheGirdleTouchesTheGirdleOnly) {
    const Design design = roundDesign();
    const double size = 6.0;
    const auto girdle = std::find_if(design.parts[0].facets.begin(), design.parts[0].facets.end(),
                                     [](const Facet& f) { return f.kind == FacetKind::Girdle; });
    ASSERT_NE(girdle, design.parts[0].facets.end());
    const Vector3d flat = size * girdle->distance * girdle->normal;
    const double pit = 0.02;
    const auto dented = [&](const Vector3d& place) {
        return RoughCutter(
                   rough(together(cubeMesh(20.0), reversed(moved(octahedronMesh(pit), place)))))
            .finish(design, at(Vector3d::Zero(), size), true);
    };
    const FinishedStone atGirdle = dented(flat);
    ASSERT_EQ(atGirdle.naturals.size(), 1U);
    EXPECT_TRUE(atGirdle.naturals[0].girdleOnly);
    EXPECT_GT(atGirdle.naturals[0].depth_mm, 0.01);
    EXPECT_NEAR(atGirdle.missing_mm3, 4.0 * pit * pit * pit / 3.0 / 2.0, 1e-10);
    expectSoundMesh(atGirdle);

    const Facet& table = design.parts[0].facets.front();
    const Vector3d top = size * table.distance * table.normal;
    const FinishedStone elsewhere = dented(top);
    ASSERT_EQ(elsewhere.naturals.size(), 1U);
    EXPECT_FALSE(elsewhere.naturals[0].girdleOnly);
}

TEST(FinishedStone, PatchesAreToldApartAndSortedByArea) {
    // A bar through a slab sticks out on both sides, farther on one.
    const RoughCutter cutter(rough(boxMesh({-1.0, -5.0, -5.0}, {1.0, 5.0, 5.0})));
    const FinishedStone finished =
        cutter.finish(octahedronDesign(), at({0.4, 0.0, 0.0}, 4.0), true);
    ASSERT_EQ(finished.naturals.size(), 2U);
    EXPECT_NEAR(finished.naturals[0].area_mm2, 2.0 * 1.4 * 1.4, 1e-8);  // at x = 1
    EXPECT_NEAR(finished.naturals[1].area_mm2, 2.0 * 0.6 * 0.6, 1e-8);  // at x = -1
    EXPECT_NEAR(finished.volume_mm3,
                4.0 * 8.0 / 3.0 - 2.0 / 3.0 * (1.4 * 1.4 * 1.4 + 0.6 * 0.6 * 0.6), 1e-11);
    expectSoundMesh(finished);
}

TEST(FinishedStone, WhatIsInTheRoughAndWhatIsNotMakeUpTheDesign) {
    const TriangleMesh skin = pebble(5);
    const RoughCutter stone(rough(skin));
    const RoughCutter rest(rough(together(cubeMesh(20.0), reversed(skin))));
    const Design design = roundDesign();
    std::mt19937_64 random(11);
    std::normal_distribution<double> normal;
    for (int i = 0; i < 40; ++i) {
        Placement placement = at(Vector3d(normal(random), normal(random), normal(random)), 6.5);
        placement.rotation =
            Eigen::Quaterniond(normal(random), normal(random), normal(random), normal(random))
                .normalized();
        const FinishedStone in = stone.finish(design, placement, false);
        const FinishedStone out = rest.finish(design, placement, false);
        EXPECT_NEAR(in.volume_mm3 + out.volume_mm3, in.design_mm3,
                    tolerance::kVolumeRelative * in.design_mm3);
    }
}

TEST(FinishedStone, RandomPointsAgreeWithTheVolume) {
    const TriangleMesh skin = pebble(4);
    const Design design = roundDesign();
    Placement placement = turned(at({0.8, 0.9, -0.3}, 6.5), 0.7, {1, 2, 3});
    const RoughCutter cutter(rough(skin));
    const FinishedStone finished = cutter.finish(design, placement, false);
    std::mt19937_64 random(5);
    std::uniform_real_distribution<double> uniform(-0.55, 0.55);
    const int tries = 400000;
    int hits = 0;
    for (int i = 0; i < tries; ++i) {
        const Vector3d place(uniform(random), uniform(random), uniform(random));
        bool in = true;
        for (const Facet& f : design.parts[0].facets)
            in = in && f.normal.dot(place) <= f.distance;
        if (in && cutter.contains(placement.rotation * (placement.size_mm * place) +
                                  placement.translation_mm))
            ++hits;
    }
    const double box = std::pow(1.1 * placement.size_mm, 3.0);
    const double share = static_cast<double>(hits) / tries;
    EXPECT_NEAR(box * share, finished.volume_mm3,
                4.0 * box * std::sqrt(share * (1.0 - share) / tries));
}

TEST(FinishedStone, VolumeIsTheSameFarFromTheOrigin) {
    const TriangleMesh skin = pebble(4);
    const Design design = roundDesign();
    const Placement placement = turned(at({0.5, 0.4, 1.0}, 6.5), 1.1, {3, -1, 2});
    const FinishedStone here = RoughCutter(rough(skin)).finish(design, placement, true);
    const Vector3d far(4096.0, -8192.0, 2048.0);  // mm
    Placement there = placement;
    there.translation_mm += far;
    const FinishedStone distant = RoughCutter(rough(moved(skin, far))).finish(design, there, true);
    EXPECT_NEAR(distant.volume_mm3, here.volume_mm3, 1e-9 * here.design_mm3);
    EXPECT_EQ(distant.naturals.size(), here.naturals.size());
}

TEST(FinishedStone, TwoOverlappingPartsCountTheirOverlapOnce) {
    // An L of two bars; the rough's face x = 1.5 cuts one of them.
    Design design;
    design.cut = "two bars";
    design.parts = {boxPart({-0.5, -0.5, -0.5}, {2.0, 0.5, 0.5}),
                    boxPart({-0.5, -0.5, -0.5}, {0.5, 2.0, 0.5})};
    const RoughCutter cutter(rough(boxMesh({-5, -5, -5}, {1.5, 5, 5})));
    const FinishedStone finished = cutter.finish(design, at(Vector3d::Zero(), 1.0), true);
    EXPECT_NEAR(finished.design_mm3, 2.5 + 2.5 - 1.0, 1e-12);
    EXPECT_NEAR(finished.volume_mm3, 2.0 + 2.5 - 1.0, 1e-12);
    ASSERT_EQ(finished.naturals.size(), 1U);
    EXPECT_NEAR(finished.naturals[0].area_mm2, 1.0, 1e-8);

    // A face through the overlap: its skin is counted once.
    const RoughCutter through(rough(boxMesh({-5, -5, -5}, {5, 5, 0.2})));
    const FinishedStone both = through.finish(design, at(Vector3d::Zero(), 1.0), false);
    EXPECT_NEAR(both.volume_mm3, 4.0 * 0.7, 1e-12);
    ASSERT_EQ(both.naturals.size(), 1U);
    EXPECT_NEAR(both.naturals[0].area_mm2, 4.0, 1e-8);
    EXPECT_NEAR(both.naturals[0].depth_mm, 0.3, 1e-8);
}

TEST(FinishedStone, ManyThreadsShareOneCutter) {
    const RoughCutter cutter(rough(pebble(5)));
    const Design design = roundDesign();
    const auto weigh = [&](int i) {
        const Placement placement =
            turned(at({0.1 * i, 0.2, 0.9}, 6.0), 0.3 * i, {1.0, 1.0, 1.0 * i});
        return cutter.finish(design, placement, i % 2 == 0).volume_mm3;
    };
    std::vector<double> alone;
    for (int i = 0; i < 12; ++i)
        alone.push_back(weigh(i));
    std::vector<double> shared(12, 0.0);
    std::vector<std::thread> threads;
    for (int t = 0; t < 4; ++t)
        threads.emplace_back([&, t] {
            for (int i = t; i < 12; i += 4)
                shared[static_cast<std::size_t>(i)] = weigh(i);
        });
    for (std::thread& thread : threads)
        thread.join();
    EXPECT_EQ(alone, shared);
}

TEST(FinishedStone, ContainsAgreesWithTheSolidAngle) {
    const TriangleMesh skin = pebble(3);
    const RoughCutter cutter(rough(skin));
    std::mt19937_64 random(2);
    std::uniform_real_distribution<double> uniform(-4.0, 4.0);
    for (int i = 0; i < 3000; ++i) {
        const Vector3d place(uniform(random), uniform(random), uniform(random));
        EXPECT_EQ(cutter.contains(place), contains(skin, place)) << place.transpose();
    }
    // Points on the symmetry planes of an octahedron, where rays like to meet edges.
    const RoughCutter octahedron(rough(refined(octahedronMesh(2.0))));
    EXPECT_TRUE(octahedron.contains(Vector3d::Zero()));
    EXPECT_TRUE(octahedron.contains({0.0, 0.0, 2.0 - 1e-9}));
    EXPECT_FALSE(octahedron.contains({0.0, 0.0, 2.0 + 1e-9}));
    EXPECT_TRUE(octahedron.contains({1.0 - 1e-9, 1.0 - 1e-9, 0.0}));
    EXPECT_FALSE(octahedron.contains({1.0 + 1e-9, 1.0, 0.0}));
}

TEST(FinishedStone, AnOpenSurfaceIsRefused) {
    TriangleMesh open = cubeMesh(1.0);
    open.triangles.pop_back();
    TriangleMesh turnedFace = cubeMesh(1.0);
    std::swap(turnedFace.triangles[0][1], turnedFace.triangles[0][2]);
    TriangleMesh beyond = cubeMesh(1.0);
    beyond.triangles[3][1] = 4000000000U;
    TriangleMesh nowhere = cubeMesh(1.0);
    nowhere.vertices[2].y() = std::numeric_limits<double>::quiet_NaN();
    for (const TriangleMesh& mesh : {open, turnedFace, beyond, nowhere, TriangleMesh{}}) {
        Rough faulty;
        faulty.mesh = mesh;
        try {
            const RoughCutter cutter(faulty);
            FAIL();
        } catch (const Error& error) {
            EXPECT_EQ(error.code(), ErrorCode::BadInput);
        }
    }
}

TEST(FinishedStone, APlacementThatIsNoneIsRefused) {
    const RoughCutter cutter(rough(cubeMesh(2.0)));
    Placement nowhere;
    nowhere.translation_mm.x() = std::numeric_limits<double>::quiet_NaN();
    Placement noTurn;
    noTurn.rotation.coeffs().setZero();
    for (const Placement& placement : {at({0, 0, 0}, 0.0), at({0, 0, 0}, -1.0), nowhere, noTurn})
        EXPECT_THROW(cutter.finish(cubeDesign(), placement, false), Error);
}
