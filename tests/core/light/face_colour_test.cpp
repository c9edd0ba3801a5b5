#include "core/light/face_colour.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/light/face_picture.h"
#include "core/light/fresnel.h"
#include "tests/core/light/light_shapes.h"

namespace macle {
namespace {

const Material& diamond() {
    static const Material material = loadMaterial("diamond");
    return material;
}

// A plate: each wavelength's closed series, then the observer.
TEST(FaceColour, APlatesColourInClosedForm) {
    const AbsorptionSpectrum pink = loadSpectrum("pink");
    FaceColourOptions options;
    options.leastPower = 1e-12;
    const LightBody plate(test::box(2, 1, 0.5), 6.0, diamond());
    const FaceColour face = faceColour(plate, pink, options);
    const auto weights = daylightWeights(options.wavelengths_nm);
    Xyz colour;
    for (std::size_t i = 0; i < weights.size(); ++i) {
        const double nm = options.wavelengths_nm[i];
        const double R = reflectanceOutside(plate.index(nm), 0).mean();
        const double T = std::exp(-pink.perMm(nm) * 6.0);
        const double back = (1 - R) * (1 - R) * R * T * T / (1 - R * R * T * T);
        colour.x += weights[i].x * back;
        colour.y += weights[i].y * back;
        colour.z += weights[i].z * back;
    }
    EXPECT_NEAR(face.colour.x, colour.x, 1e-12);
    EXPECT_NEAR(face.colour.y, colour.y, 1e-12);
    EXPECT_NEAR(face.colour.z, colour.z, 1e-12);
    EXPECT_NEAR(face.lab.chroma(), toLab(colour).chroma(), 1e-9);
}

// Few rays against the mean of a fine picture.
TEST(FaceColour, FewRaysStandWhereTheHeaderSays) {
    const AbsorptionSpectrum pink = loadSpectrum("pink");
    for (const char* cut : {"round", "oval", "princess"}) {
        const LightBody body(makeDesign(cut, {}), 6.5, diamond());
        FacePictureOptions fine;
        fine.pixels = 220;
        fine.spectrum = pink;
        const FaceFigures exact = facePicture(body, fine).figures;
        const FaceColour quick = faceColour(body, pink);
        EXPECT_NEAR(quick.lab.lightness, exact.lab.lightness, 0.5) << cut;
        EXPECT_NEAR(quick.lab.chroma(), exact.lab.chroma(), 0.03 * exact.lab.chroma()) << cut;
        EXPECT_NEAR(quick.meanPath_mm, exact.meanPath_mm, 0.04 * exact.meanPath_mm) << cut;
        EXPECT_NEAR(quick.leaked, exact.leaked, 0.02) << cut;
    }
}

TEST(FaceColour, EachModelHasItsHueAndStrengthDeepensIt) {
    const LightBody body(makeDesign("round", {}), 6.5, diamond());
    const auto hue = [&](const char* name) {
        return faceColour(body, loadSpectrum(name)).lab.hue_deg();
    };
    EXPECT_TRUE(hue("pink") > 290 || hue("pink") < 20) << hue("pink");
    EXPECT_GT(hue("cape_yellow"), 75);
    EXPECT_LT(hue("cape_yellow"), 115);
    EXPECT_GT(hue("brown"), 50);
    EXPECT_LT(hue("brown"), 90);
    AbsorptionSpectrum pink = loadSpectrum("pink");
    const Lab once = faceColour(body, pink).lab;
    pink.strength = 2.0;
    const Lab twice = faceColour(body, pink).lab;
    EXPECT_GT(twice.chroma(), 1.3 * once.chroma());
    EXPECT_LT(twice.lightness, once.lightness);
    // A larger stone of the same rough is deeper in colour: its paths are longer.
    pink.strength = 1.0;
    const FaceColour larger = faceColour(makeDesign("round", {}), 9.0, diamond(), pink);
    EXPECT_GT(larger.lab.chroma(), once.chroma());
    // Under absorption the longest paths fade, so that the mean grows by less than the size.
    EXPECT_LT(larger.meanPath_mm / faceColour(body, pink).meanPath_mm, 9.0 / 6.5);
}

// A row of shallow facets round the culet mirrors the light on to the girdle's region: its way gets
// longer, the colour stronger, the stone darker (trade article; the figures are the model's own,
// which shows it for rows of 30 to 34 degrees and no longer at 36).
TEST(FaceColour, AShallowRowRoundTheCuletStrengthensTheColour) {
    const Design plain = makeDesign("round", {});
    Design deep = plain;
    for (int k = 0; k < 8; ++k) {
        const Facet* main = nullptr;
        for (const Facet& facet : plain.parts[0].facets)
            if (facet.kind == FacetKind::PavilionMain &&
                std::abs(std::remainder(facetAzimuth_deg(facet) - 45.0 * k, 360.0)) < 1.0)
                main = &facet;
        ASSERT_NE(main, nullptr);
        const double turn = radians(45.0 * k), angle = radians(32.0), reach = 0.35;
        Eigen::Vector3d place(reach * std::cos(turn), reach * std::sin(turn), 0.0);
        place.z() =
            (main->distance - main->normal.head<2>().dot(place.head<2>())) / main->normal.z();
        Facet facet;
        facet.name = "lower pavilion " + std::to_string(k + 1);
        facet.kind = FacetKind::Other;
        facet.normal = {std::sin(angle) * std::cos(turn), std::sin(angle) * std::sin(turn),
                        -std::cos(angle)};
        facet.distance = facet.normal.dot(place);
        deep.parts[0].facets.push_back(facet);
    }
    const AbsorptionSpectrum pink = loadSpectrum("pink");
    FaceColourOptions options;
    options.rays = 6000;
    const FaceColour before = faceColour(plain, 6.5, diamond(), pink, options);
    const FaceColour after = faceColour(deep, 6.5, diamond(), pink, options);
    EXPECT_GT(after.lab.chroma(), before.lab.chroma());
    EXPECT_LT(after.colour.y, before.colour.y);
    EXPECT_GT(after.meanPath_mm, before.meanPath_mm);
}

TEST(FaceColour, TheSameAtAnyThreadCountAndBadOptionsRefused) {
    const LightBody body(makeDesign("heart", {}), 6.5, diamond());
    FaceColourOptions options;
    options.rays = 3000;
    const FaceColour one = faceColour(body, loadSpectrum("brown"), options);
    options.threads = 3;
    const FaceColour three = faceColour(body, loadSpectrum("brown"), options);
    EXPECT_EQ(one.lab.chroma(), three.lab.chroma());
    EXPECT_EQ(one.srgb, three.srgb);
    options.rays = 1;
    EXPECT_THROW(faceColour(body, loadSpectrum("brown"), options), Error);
    EXPECT_THROW(faceColour(body, AbsorptionSpectrum{}), Error);
}

}  // namespace
}  // namespace macle
