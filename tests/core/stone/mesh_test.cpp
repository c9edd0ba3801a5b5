#include "core/stone/mesh.h"

#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/stone/intake.h"
#include "core/stone/stone.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;

const Eigen::Quaterniond kSomeTurn =
    Eigen::Quaterniond(Eigen::AngleAxisd(0.7, Vector3d(1, 2, 3).normalized()));

TEST(Mesh, ABoxHasTheVolumeAndAreaOfItsSides) {
    const TriangleMesh box = shapes::box({-1, 2, 3}, {1, 5, 7.5});
    EXPECT_NEAR(signedVolume_mm3(box), 2.0 * 3.0 * 4.5, 1e-13);
    EXPECT_NEAR(area_mm2(box), 2.0 * (6.0 + 9.0 + 13.5), 1e-13);
}

TEST(Mesh, AnOctahedronHasTheVolumeOfItsEdge) {
    const double edge = 6.0;
    EXPECT_NEAR(signedVolume_mm3(shapes::octahedron(edge)),
                edge * edge * edge * std::numbers::sqrt2 / 3.0, 1e-12);
    EXPECT_NEAR(area_mm2(shapes::octahedron(edge)), 2.0 * std::sqrt(3.0) * edge * edge, 1e-12);
}

TEST(Mesh, VolumeDoesNotSufferFarFromTheOrigin) {
    const TriangleMesh near = shapes::bumpy(40, 5.0);
    const TriangleMesh far = shapes::moved(near, kSomeTurn, {1e5, -2e5, 3e5});
    // Coordinates near 3e5 are spaced 6e-11 apart, and the volume about 70 times that is 1e-11.
    EXPECT_NEAR(signedVolume_mm3(far) / signedVolume_mm3(near), 1.0, 1e-10);
}

TEST(Mesh, AnInsideOutSurfaceHasANegativeVolume) {
    const TriangleMesh box = shapes::box({0, 0, 0}, {1, 2, 3});
    EXPECT_NEAR(signedVolume_mm3(shapes::turnedInsideOut(box)), -6.0, 1e-14);
}

TEST(Mesh, BoundsOfNothingAreZero) {
    EXPECT_EQ(bounds(TriangleMesh{}).extent(), Vector3d(Vector3d::Zero()));
    const Box box = bounds(shapes::box({-1, 2, 3}, {1, 5, 7.5}));
    EXPECT_EQ(box.low, Vector3d(-1, 2, 3));
    EXPECT_EQ(box.high, Vector3d(1, 5, 7.5));
    EXPECT_EQ(box.centre(), Vector3d(0, 3.5, 5.25));
}

TEST(Mesh, ContainsAgreesWithTheBoxItself) {
    const TriangleMesh box = shapes::box({-1, -2, -3}, {1, 2, 3});
    std::mt19937 random(3);
    std::uniform_real_distribution<double> share(-1.5, 1.5);
    for (int i = 0; i < 2000; ++i) {
        const Vector3d p(share(random), 2.0 * share(random), 3.0 * share(random));
        const bool inside = std::abs(p.x()) < 1.0 && std::abs(p.y()) < 2.0 && std::abs(p.z()) < 3.0;
        EXPECT_EQ(contains(box, p), inside) << p.transpose();
    }
    EXPECT_TRUE(contains(box, {0, 0, 0}));
    EXPECT_FALSE(contains(box, {1e6, 0, 0}));
}

TEST(Mesh, TheShareOfContainedPointsIsTheVolume) {
    const TriangleMesh mesh = shapes::bumpy(20, 5.0);
    const Box box = bounds(mesh);
    std::mt19937 random(11);
    std::uniform_real_distribution<double> share(0.0, 1.0);
    const int total = 20000;
    int inside = 0;
    for (int i = 0; i < total; ++i) {
        const Vector3d at(share(random), share(random), share(random));
        inside += contains(mesh, box.low + at.cwiseProduct(box.extent()));
    }
    const double expected = signedVolume_mm3(mesh) / box.extent().prod();
    // Four standard deviations of a binomial share.
    EXPECT_NEAR(inside / static_cast<double>(total), expected,
                4.0 * std::sqrt(expected * (1.0 - expected) / total));
}

TEST(Mesh, ContainsSeesTheHollowOfANonConvexBody) {
    // A box with a pyramid pushed down from its top to just above the floor.
    TriangleMesh mesh = shapes::box({0, 0, 0}, {2, 2, 2});
    mesh.vertices.push_back({1, 1, 0.5});
    mesh.triangles[2] = {4, 5, 8};
    mesh.triangles[3] = {5, 7, 8};
    mesh.triangles.push_back({7, 6, 8});
    mesh.triangles.push_back({6, 4, 8});
    EXPECT_NEAR(signedVolume_mm3(mesh), 8.0 - 4.0 * 1.5 / 3.0, 1e-13);
    EXPECT_FALSE(contains(mesh, {1, 1, 1.5}));
    EXPECT_TRUE(contains(mesh, {1, 1, 0.25}));
    EXPECT_TRUE(contains(mesh, {0.1, 1, 1.5}));
}

TEST(Stone, WeightIsVolumeTimesDensity) {
    Stone stone;
    stone.rough = takeIn(shapes::box({0, 0, 0}, {1, 2, 5}));
    stone.material.density_g_cm3 = 3.515;
    // 10 mm3 of 3.515 g/cm3 are 0.03515 g, and 0.2 g are a carat.
    EXPECT_NEAR(scanWeight_ct(stone), 0.17575, 1e-14);
}

TEST(WeighIn, FlagsAScanAndAScaleThatDisagree) {
    const WeighIn good = weighIn(200.0, 3.5, 3.49);
    EXPECT_NEAR(good.scan_ct, 3.5, 1e-14);
    EXPECT_NEAR(good.difference_percent, 100.0 * 0.01 / 3.49, 1e-10);
    EXPECT_FALSE(good.flagged);
    EXPECT_TRUE(weighIn(200.0, 3.5, 3.46).flagged);
    const WeighIn light = weighIn(200.0, 3.5, 3.6);
    EXPECT_TRUE(light.flagged);
    EXPECT_LT(light.difference_percent, 0.0);
}

TEST(WeighIn, RefusesWeightsThatAreNone) {
    const double nan = std::nan("");
    for (const double bad : {0.0, -1.0, nan}) {
        EXPECT_THROW(weighIn(200.0, 3.5, bad), Error);
        EXPECT_THROW(weighIn(200.0, bad, 3.5), Error);
        EXPECT_THROW(weighIn(bad, 3.5, 3.5), Error);
    }
}

}  // namespace
}  // namespace macle
