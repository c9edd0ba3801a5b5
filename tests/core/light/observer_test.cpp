#include "core/light/observer.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"

namespace macle {
namespace {

// Sums of the fit of Wyman, Sloan and Shirley (2013) by 1 nm, and white of equal energy: the
// integrals of its Gaussian halves, sqrt(pi/2) / slope each. Below 360 nm 0.0013 of z is cut off.
TEST(Observer, TheFitSumsToWhatItsCoefficientsGive) {
    double x = 0, y = 0, z = 0;
    for (int nm = 360; nm <= 830; ++nm) {
        const Xyz m = matchingFunctions(nm);
        x += m.x, y += m.y, z += m.z;
    }
    EXPECT_NEAR(x, 106.714, 6e-4);
    EXPECT_NEAR(y, 106.946, 6e-4);
    EXPECT_NEAR(z, 106.857, 2e-3);
    EXPECT_NEAR(x / (x + y + z), 0.33295, 6e-6);
    EXPECT_NEAR(y / (x + y + z), 0.33367, 6e-6);
}

// D65 through the fit, and against the white of the tables (CIE 15:2004: 95.047, 100, 108.883).
TEST(Observer, DaylightIsWhite) {
    const Xyz white = daylightWhite();
    EXPECT_NEAR(100 * white.x, 94.96, 0.02);
    EXPECT_NEAR(100 * white.z, 108.80, 0.02);
    EXPECT_NEAR(100 * white.x, 95.047, 0.15);
    EXPECT_NEAR(100 * white.z, 108.883, 0.15);
    const double sum = white.x + white.y + white.z;
    EXPECT_NEAR(white.x / sum, 0.3126, 6e-5);
    EXPECT_NEAR(white.y / sum, 0.3292, 6e-5);
    EXPECT_EQ(daylight(560), 100.0);
    EXPECT_EQ(daylight(450), 117.008);
    EXPECT_EQ(daylight(400), 82.7549);
    const Lab lab = toLab(white);
    EXPECT_NEAR(lab.lightness, 100.0, 1e-12);
    EXPECT_NEAR(lab.chroma(), 0.0, 1e-12);
    EXPECT_EQ(toSrgb(white), (std::array<std::uint8_t, 3>{255, 255, 255}));
}

// CIELAB by its definition (ISO/CIE 11664-4): middle grey and the straight part near black. sRGB by
// IEC 61966-2-1: a linear 0.18 is 118.
TEST(Observer, GreysAreWhereTheStandardsPutThem) {
    const Xyz w = daylightWhite();
    EXPECT_NEAR(toLab({0.18 * w.x, 0.18, 0.18 * w.z}).lightness, 49.496, 1e-3);
    EXPECT_NEAR(toLab({0.001 * w.x, 0.001, 0.001 * w.z}).lightness, 0.9033, 1e-3);
    EXPECT_EQ(toSrgb({0.18 * w.x, 0.18, 0.18 * w.z}), (std::array<std::uint8_t, 3>{118, 118, 118}));
    EXPECT_EQ(toSrgb(w, 0.18), (std::array<std::uint8_t, 3>{118, 118, 118}));
    const Lab yellow = toLab({0.95 * w.x, 0.95, 0.2 * w.z});
    EXPECT_NEAR(yellow.hue_deg(), 90.0, 0.01);
    EXPECT_GT(yellow.chroma(), 50.0);
}

TEST(Observer, AFewWavelengthsWeighAsTheWholeSpectrumDoes) {
    const std::vector<double> nine{400, 437.5, 475, 512.5, 550, 587.5, 625, 662.5, 700};
    const auto weights = daylightWeights(nine);
    Xyz white, slope;
    for (std::size_t i = 0; i < nine.size(); ++i) {
        white = {white.x + weights[i].x, white.y + weights[i].y, white.z + weights[i].z};
        slope.y += weights[i].y * (nine[i] - 400.0) / 300.0;
    }
    EXPECT_NEAR(white.x, daylightWhite().x, 1e-12);
    EXPECT_NEAR(white.y, 1.0, 1e-12);
    EXPECT_NEAR(white.z, daylightWhite().z, 1e-12);
    double exact = 0.0, all = 0.0;
    for (int nm = 380; nm <= 780; ++nm) {
        const double light = daylight(nm) * matchingFunctions(nm).y;
        all += light;
        exact += light * std::min(1.0, std::max(0.0, (nm - 400.0) / 300.0));
    }
    EXPECT_NEAR(slope.y, exact / all, 1e-12);
    EXPECT_THROW(daylightWeights({500, 500}), Error);
    EXPECT_THROW(daylightWeights({}), Error);
}

}  // namespace
}  // namespace macle
