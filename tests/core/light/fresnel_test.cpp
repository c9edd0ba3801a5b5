#include "core/light/fresnel.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/material.h"

namespace macle {
namespace {

double diamond(double wavelength_nm) {
    return refractiveIndex(loadMaterial("diamond"), wavelength_nm);
}

// Born and Wolf, Principles of Optics, section 1.5, with the index of F. Peter, Z. Phys. 15 (1923)
// 358-368, at the Fraunhofer lines.
TEST(Fresnel, DiamondsCriticalAngles) {
    EXPECT_NEAR(criticalAngle_deg(diamond(686.7)), 24.545, 6e-4);
    EXPECT_NEAR(criticalAngle_deg(diamond(656.28)), 24.516, 6e-4);
    EXPECT_NEAR(criticalAngle_deg(diamond(589.3)), 24.437, 6e-4);
    EXPECT_NEAR(criticalAngle_deg(diamond(486.13)), 24.242, 6e-4);
    EXPECT_NEAR(criticalAngle_deg(diamond(430.79)), 24.071, 6e-4);
}

TEST(Fresnel, DiamondsLustreAtNormalIncidence) {
    EXPECT_NEAR(reflectanceOutside(diamond(686.7), 0.0).mean(), 0.17059, 6e-6);
    EXPECT_NEAR(reflectanceOutside(diamond(589.3), 0.0).mean(), 0.17201, 6e-6);
    EXPECT_NEAR(reflectanceOutside(diamond(430.79), 0.0).mean(), 0.17689, 6e-6);
    EXPECT_NEAR(diamond(430.79) - diamond(686.7), 0.04445, 1e-5);
}

TEST(Fresnel, NoneOfTheLightInThePlaneIsThrownBackAtBrewstersAngle) {
    const double n = diamond(589.3);
    EXPECT_NEAR(brewsterAngle_deg(n), 67.53, 0.005);
    EXPECT_NEAR(reflectanceOutside(n, brewsterAngle_deg(n)).p, 0.0, 1e-20);
    EXPECT_GT(reflectanceOutside(n, brewsterAngle_deg(n)).s, 0.4);
}

// Duntley's closed form of 1942 in the form of Egan and Hilgeman, Optical Properties of
// Inhomogeneous Materials (1979): from memory.
TEST(Fresnel, DiffuseLightThrownBack) {
    const double n = diamond(589.3), n2 = n * n;
    const double closed =
        0.5 + (n - 1.0) * (3.0 * n + 1.0) / (6.0 * (n + 1.0) * (n + 1.0)) +
        n2 * (n2 - 1.0) * (n2 - 1.0) / std::pow(n2 + 1.0, 3) * std::log((n - 1.0) / (n + 1.0)) -
        2.0 * n * n2 * (n2 + 2.0 * n - 1.0) / ((n2 + 1.0) * (n2 * n2 - 1.0)) +
        8.0 * n2 * n2 * (n2 * n2 + 1.0) / ((n2 + 1.0) * std::pow(n2 * n2 - 1.0, 2)) * std::log(n);
    EXPECT_NEAR(diffuseReflectance(n), 0.2122, 6e-5);
    EXPECT_NEAR(diffuseReflectance(n), closed, 1e-8);
}

TEST(Fresnel, BothSidesOfAFaceAgreeAtTheRefractedAngle) {
    const double n = diamond(550.0);
    for (double outside = 5.0; outside < 90.0; outside += 10.0) {
        const double inside = std::asin(std::sin(outside * M_PI / 180.0) / n) * 180.0 / M_PI;
        EXPECT_NEAR(reflectanceOutside(n, outside).s, reflectanceInside(n, inside).s, 1e-12);
        EXPECT_NEAR(reflectanceOutside(n, outside).p, reflectanceInside(n, inside).p, 1e-12);
    }
    EXPECT_EQ(reflectanceInside(n, 25.0).mean(), 1.0);
}

}  // namespace
}  // namespace macle
