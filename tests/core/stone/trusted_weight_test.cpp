// Which weight carats start from.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "core/stone/sample.h"
#include "core/stone/stone.h"

namespace macle {
namespace {

using ::testing::HasSubstr;

Stone weighed(double share) {
    Stone stone = octahedronStone(5.0);
    stone.scale_ct = share * scanWeight_ct(stone);
    stone.trusted = TrustedWeight::Scale;
    return stone;
}

TEST(TrustedWeight, IsTheScansUnlessTheScaleIsTrustedAndTheStoneWasWeighed) {
    Stone stone = weighed(0.98);
    stone.trusted = TrustedWeight::Scan;
    EXPECT_EQ(weightFactor(stone), 1.0);
    EXPECT_EQ(weightBasis(stone), "");
    EXPECT_EQ(caratsOf(stone, stone.rough.volume_mm3), scanWeight_ct(stone));
    stone.trusted = TrustedWeight::Scale;
    stone.scale_ct.reset();
    EXPECT_EQ(weightFactor(stone), 1.0);
    EXPECT_EQ(weightBasis(stone), "");
}

TEST(TrustedWeight, OfTheScaleMakesTheRoughWeighWhatTheScaleSays) {
    const Stone stone = weighed(0.98);
    EXPECT_NEAR(weightFactor(stone), 0.98, 1e-15);
    EXPECT_NEAR(caratsOf(stone, stone.rough.volume_mm3), *stone.scale_ct, 1e-12);
    // Halves of the volume weigh halves.
    EXPECT_NEAR(caratsOf(stone, 0.5 * stone.rough.volume_mm3), 0.5 * *stone.scale_ct, 1e-12);
}

TEST(TrustedWeight, SaysTheDoubtAboutLengths) {
    // A scan too long by 1 % in every length weighs 1.01^3 too much.
    const double k = 1.01;
    EXPECT_THAT(weightBasis(weighed(1.0 / (k * k * k))), HasSubstr("1.00 % too long"));
    EXPECT_THAT(weightBasis(weighed(k * k * k)), HasSubstr("0.99 % too short"));
    EXPECT_THAT(weightBasis(weighed(0.5)), HasSubstr("Weights scaled to the scale weight"));
}

}  // namespace
}  // namespace macle
