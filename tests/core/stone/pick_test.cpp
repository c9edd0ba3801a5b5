#include "core/stone/pick.h"

#include <gtest/gtest.h>

#include "core/stone/sample.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;

TEST(Pick, MeetsTheSkinWhereASphereWouldSay) {
    const TriangleMesh box = shapes::box({-2, -3, -1}, {2, 3, 1});
    const auto top = pickSkin(box, {0.5, 1.25, 10}, {0, 0, -2}, std::nullopt);
    ASSERT_TRUE(top);
    EXPECT_LT((top->place_mm - Vector3d(0.5, 1.25, 1)).norm(), 1e-12);
    EXPECT_FALSE(top->onSection);
    EXPECT_FALSE(pickSkin(box, {5, 0, 10}, {0, 0, -1}, std::nullopt));
    const auto slant = pickSkin(box, {10, 0.3, 10.1}, {-1, 0, -1}, std::nullopt);
    ASSERT_TRUE(slant);
    EXPECT_LT((slant->place_mm - Vector3d(0.9, 0.3, 1)).norm(), 1e-12);
}

TEST(Pick, AnOpenedStoneIsPickedOnItsCutFace) {
    const TriangleMesh box = shapes::box({-2, -3, -1}, {2, 3, 1});
    const OpenPlane plane{Vector3d::UnitZ(), 0.25};
    const auto cut = pickSkin(box, {0.5, 1.25, 10}, {0, 0, -1}, plane);
    ASSERT_TRUE(cut);
    EXPECT_TRUE(cut->onSection);
    EXPECT_LT((cut->place_mm - Vector3d(0.5, 1.25, 0.25)).norm(), 1e-12);
    // Beside the cut face, and from below, it is the skin that is left.
    EXPECT_FALSE(pickSkin(box, {5, 0, 10}, {0, 0, -1}, plane));
    const auto below = pickSkin(box, {0.5, 1.25, -10}, {0, 0, 1}, plane);
    ASSERT_TRUE(below);
    EXPECT_FALSE(below->onSection);
    EXPECT_LT((below->place_mm - Vector3d(0.5, 1.25, -1)).norm(), 1e-12);
    // A plane above the stone takes nothing away.
    EXPECT_LT((pickSkin(box, {0, 0, 10}, {0, 0, -1}, OpenPlane{Vector3d::UnitZ(), 5.0})->place_mm -
               Vector3d(0, 0, 1))
                  .norm(),
              1e-12);
}

TEST(Pick, TellsAFlatFaceFromARoundPlace) {
    const TriangleMesh octahedron = octahedronStone(8.0, 4).rough.mesh;
    const double third = 8.0 / std::sqrt(2.0) / 3.0;
    const auto flat = faceAt(octahedron, Vector3d::Constant(third), 0.4);
    ASSERT_TRUE(flat);
    EXPECT_LT((flat->normal - Vector3d(1, 1, 1).normalized()).norm(), 1e-9);
    EXPECT_LT(flat->spread_deg, 1e-6);
    const auto corner = faceAt(octahedron, {8.0 / std::sqrt(2.0), 0, 0}, 0.8);
    ASSERT_TRUE(corner);
    EXPECT_GT(corner->spread_deg, 20.0);
    EXPECT_FALSE(faceAt(octahedron, {50, 0, 0}, 0.4));
    // Triangles larger than the radius: the one under the place.
    const auto large = faceAt(octahedronStone(8.0).rough.mesh, Vector3d::Constant(third), 0.1);
    ASSERT_TRUE(large);
    EXPECT_LT((large->normal - Vector3d(1, 1, 1).normalized()).norm(), 1e-9);
}

}  // namespace
}  // namespace macle
