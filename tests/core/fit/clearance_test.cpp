#include "core/fit/clearance.h"

#include <gtest/gtest.h>

#include <random>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/fit/gauge.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

TEST(Clearance, OfACubeInABoxIsTheDistanceOfTheirFaces) {
    const Obstacles skin = skinAlone(rough(boxMesh({-2.0, -3.0, -4.0}, {2.0, 3.0, 4.0})));
    Placement placement;
    placement.size_mm = 2.0;
    placement.translation_mm = {0.25, 0.0, 0.0};
    const Clearance in = clearanceOf(skin, cubeDesign(), placement);
    EXPECT_NEAR(in.clear_mm, 0.75, kClearanceWithin_mm);
    EXPECT_NEAR(in.point_mm.x(), 2.0, 1e-9);
    EXPECT_FALSE(in.deeper);
    placement.translation_mm.x() = 1.2;
    EXPECT_NEAR(clearanceOf(skin, cubeDesign(), placement).clear_mm, -0.2, kClearanceWithin_mm);
    placement.translation_mm.x() = 1.0;
    EXPECT_NEAR(clearanceOf(skin, cubeDesign(), placement).clear_mm, 0.0, kClearanceWithin_mm);
    placement.translation_mm.x() = 1.7;
    EXPECT_TRUE(clearanceOf(skin, cubeDesign(), placement).deeper);
    placement.translation_mm.x() = 9.0;
    EXPECT_TRUE(clearanceOf(skin, cubeDesign(), placement).deeper);
    placement.size_mm = 0.0;
    EXPECT_THROW(clearanceOf(skin, cubeDesign(), placement), Error);
}

TEST(Clearance, IsTheAllowanceAtWhichTheCutStillHasItsSize) {
    const Rough stone = rough(pebble(4));
    const Obstacles skin = skinAlone(stone);
    std::mt19937_64 random(3);
    const auto unit = [&] { return static_cast<double>(random() >> 11) * 0x1.0p-53; };
    for (const char* cut : {"round", "heart", "princess"}) {
        const Design design = makeDesign(cut, {});
        const Gauge gauge(skin, design, {});
        for (int n = 0; n < 8; ++n) {
            Placement placement;
            placement.rotation =
                Eigen::Quaterniond(unit() - 0.5, unit() - 0.5, unit() - 0.5, unit() - 0.6)
                    .normalized();
            placement.translation_mm = {unit() - 0.5, unit() - 0.5, unit() - 0.5};
            const double largest =
                gauge.largest(placement.rotation, placement.translation_mm).size_mm;
            placement.size_mm = largest * (0.5 + 0.5 * unit());
            const Clearance clear = clearanceOf(skin, design, placement);
            ASSERT_GT(clear.clear_mm, -1e-8);
            // By bisection over the allowance.
            double low = 0.0, high = 3.0;
            for (int i = 0; i < 40; ++i) {
                const double middle = 0.5 * (low + high);
                const Gauge kept(skin, design, {middle});
                (kept.largest(placement.rotation, placement.translation_mm).size_mm >=
                         placement.size_mm
                     ? low
                     : high) = middle;
            }
            EXPECT_NEAR(clear.clear_mm, low, 1e-8) << cut << n;
            // A larger one pokes out.
            placement.size_mm = 1.1 * largest;
            EXPECT_LT(clearanceOf(skin, design, placement).clear_mm, 0.0);
        }
    }
}
