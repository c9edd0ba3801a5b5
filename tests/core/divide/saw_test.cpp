#include "core/divide/saw.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/base/units.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

std::string refusal(const Saw& saw) {
    try {
        sawnSides(saw, octahedronMesh(1.0));
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        return error.message();
    }
    return "";
}

}  // namespace

TEST(Saw, AParallelKerfLeavesHalfOfItOnEachSide) {
    Saw saw;
    saw.normal = Vector3d(1.0, 2.0, 2.0) / 3.0;
    saw.offset_mm = 0.7;
    saw.kerf_mm = 0.1;
    const SawnSides sides = sawnSides(saw, {});
    EXPECT_EQ(sides.below.normal, saw.normal);
    EXPECT_NEAR(sides.below.offset_mm, 0.65, 1e-15);
    EXPECT_EQ(sides.above.normal, -saw.normal);
    EXPECT_NEAR(sides.above.offset_mm, -0.75, 1e-15);
}

TEST(Saw, AVIsAsWideAsSaidWhereTheBeamEntersAndLeaves) {
    Saw saw;
    saw.offset_mm = 0.25;
    saw.kerf_mm = 0.2;
    saw.v = VKerf{{2.0, 0.0, 5.0}, 0.06};  // what runs across the plane does not count
    const TriangleMesh piece = boxMesh({-3.0, -1.0, -1.0}, {5.0, 1.0, 1.0});
    const SawnSides sides = sawnSides(saw, piece);
    for (const auto& [x, width] :
         {std::pair{-3.0, 0.2}, std::pair{5.0, 0.06}, std::pair{1.0, 0.13}}) {
        // Where each side's plane stands at this x.
        const double low =
            (sides.below.offset_mm - sides.below.normal.x() * x) / sides.below.normal.z();
        const double high =
            (sides.above.offset_mm - sides.above.normal.x() * x) / sides.above.normal.z();
        EXPECT_NEAR(high - low, width, 1e-12) << x;
        EXPECT_NEAR(0.5 * (high + low), 0.25, 1e-12) << x;
    }
}

TEST(Saw, WhatIsNoSawIsRefused) {
    Saw saw;
    saw.normal = {0.0, 0.0, 0.5};
    EXPECT_THAT(refusal(saw), HasSubstr("no direction of length 1"));
    saw.normal = Vector3d::UnitZ();
    saw.kerf_mm = -0.1;
    EXPECT_THAT(refusal(saw), HasSubstr("kerf cannot be -0.1"));
    saw.kerf_mm = 0.1;
    saw.v = VKerf{Vector3d::UnitX(), 0.2};
    EXPECT_THAT(refusal(saw), HasSubstr("narrows"));
    saw.v = VKerf{Vector3d::UnitZ(), 0.05};
    EXPECT_THAT(refusal(saw), HasSubstr("across"));
    saw.offset_mm = std::nan("");
    EXPECT_THAT(refusal(saw), HasSubstr("no place"));
}

TEST(Saw, MechanicalSawsFollowCubeAndDodecahedronPlanes) {
    CrystalAxes axes;
    axes.rotation = Eigen::Quaterniond(Eigen::AngleAxisd(0.3, Vector3d(1, 2, 3).normalized()));
    const auto all = sawableDirections(axes);
    ASSERT_EQ(all.size(), 9u);
    // An octahedron's face is 35.26 degrees from a dodecahedron's, 54.74 from a cube's.
    const Vector3d face = axes.rotation * Vector3d(1, 1, 1).normalized();
    const SawableDirection near = nearestSawable(axes, face);
    EXPECT_EQ(near.form, FaceForm::Dodecahedron);
    EXPECT_NEAR(near.off_deg, degrees(std::acos(std::sqrt(2.0 / 3.0))), 1e-9);
    EXPECT_GT(near.normal.dot(face), 0.0);
    const SawableDirection cube = nearestSawable(axes, axes.rotation * -Vector3d::UnitY());
    EXPECT_EQ(cube.form, FaceForm::Cube);
    EXPECT_NEAR(cube.off_deg, 0.0, 1e-6);
    EXPECT_NEAR((cube.normal - axes.rotation * -Vector3d::UnitY()).norm(), 0.0, 1e-12);
}
