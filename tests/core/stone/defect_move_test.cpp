#include "core/stone/defect_move.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"
#include "core/stone/sample.h"

namespace macle {
namespace {

using Eigen::Vector3d;

Defect ellipsoid() {
    Defect defect;
    defect.name = "crystal";
    defect.shape =
        Ellipsoid{{1, 2, 3},
                  {0.5, 0.2, 0.1},
                  Eigen::Quaterniond(Eigen::AngleAxisd(std::acos(-1.0) / 2.0, Vector3d::UnitZ()))};
    return defect;
}

Defect sheet() {
    Defect defect;
    defect.name = "crack";
    defect.shape = Sheet{{{0, 0, 1}, {2, 0, 1}, {2, 1, 1}, {0, 1, 1}}};
    return defect;
}

TEST(DefectMove, MovesEllipsoidsAndSheetsAndNoScans) {
    EXPECT_EQ(std::get<Ellipsoid>(movedBy(ellipsoid(), {0.5, -1, 2}).shape).centre_mm,
              Vector3d(1.5, 1, 5));
    const Defect moved = movedBy(sheet(), {0, 0, -1});
    EXPECT_EQ(std::get<Sheet>(moved.shape).corners_mm[2], Vector3d(2, 1, 0));
    EXPECT_EQ(moved.name, "crack");
    Defect scan;
    scan.shape = octahedronStone(1.0).rough.mesh;
    EXPECT_FALSE(canBeMoved(scan));
    EXPECT_THROW(movedBy(scan, {1, 0, 0}), Error);
    EXPECT_THROW(movedBy(sheet(), {std::nan(""), 0, 0}), Error);
}

TEST(DefectMove, TellsHowFarAPointLies) {
    const Defect ball = ellipsoid();  // long along y after its turn
    EXPECT_EQ(farFrom_mm(ball, {1, 2.4, 3}), 0.0);
    EXPECT_NEAR(farFrom_mm(ball, {1, 3, 3}), 0.5, 1e-12);
    EXPECT_NEAR(farFrom_mm(ball, {1.5, 2, 3}), 0.3, 1e-12);
    const Defect crack = sheet();
    EXPECT_NEAR(farFrom_mm(crack, {1, 0.5, 1.25}), 0.25, 1e-12);
    EXPECT_NEAR(farFrom_mm(crack, {2.3, 0.5, 1.4}), 0.5, 1e-12);  // beside an edge
    EXPECT_NEAR(farFrom_mm(crack, {-0.3, -0.4, 1}), 0.5, 1e-12);  // beside a corner
}

TEST(DefectMove, FindsWhatLiesUnderThePointer) {
    const Vector3d down = -Vector3d::UnitZ();
    const auto hit = underPointer(sheet(), {1.5, 0.5, 9}, down, 0.0);
    ASSERT_TRUE(hit.has_value());
    EXPECT_LT((*hit - Vector3d(1.5, 0.5, 1)).norm(), 1e-12);
    EXPECT_FALSE(underPointer(sheet(), {2.1, 0.5, 9}, down, 0.05));
    EXPECT_TRUE(underPointer(sheet(), {2.1, 0.5, 9}, down, 0.15));
    EXPECT_FALSE(underPointer(sheet(), {1.5, 0.5, 9}, -down, 0.0)) << "behind the eye";
    // Edge-on a sheet is met by its rim.
    EXPECT_TRUE(underPointer(sheet(), {9, 0.5, 1.01}, -Vector3d::UnitX(), 0.05));
    EXPECT_TRUE(underPointer(ellipsoid(), {1, 2.45, 9}, down, 0.0));
    EXPECT_FALSE(underPointer(ellipsoid(), {1.3, 2, 9}, down, 0.05));
    // A slanting look at a flat ellipsoid.
    const Vector3d slant = Vector3d(0, 1, -1).normalized();
    EXPECT_TRUE(underPointer(ellipsoid(), Vector3d(1, 2.3, 3) - 5.0 * slant, slant, 0.0));
}

}  // namespace
}  // namespace macle
