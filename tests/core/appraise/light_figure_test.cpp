#include "core/appraise/light_figure.h"

#include <gtest/gtest.h>

#include "core/cut/library.h"
#include "core/light/light_return.h"
#include "core/stone/sample.h"

using namespace macle;

namespace {

Stone emptyStone() {
    Stone stone;
    stone.material = loadMaterial("diamond");
    return stone;
}

Placement placedAt(double size_mm) {
    Placement placement;
    placement.rotation = Eigen::Quaterniond(0.5, -0.5, 0.5, -0.5);
    placement.translation_mm = {3.0, -2.0, 1.0};
    placement.size_mm = size_mm;
    return placement;
}

}  // namespace

TEST(LightFigure, IsThatOfTheTracerWhereverTheCutSits) {
    const Stone stone = emptyStone();
    const Design round = makeDesign("round", {});
    const LightFigure light = lightOf(stone, round, placedAt(6.5), std::nullopt, 0).light;
    EXPECT_EQ(light.weightedReturn, lightReturn(LightBody(round, 6.5, stone.material)).weighted);
    FacePictureOptions options;
    options.pixels = kLightFigure_px;
    const FaceFigures face = facePicture(LightBody(round, 6.5, stone.material), options).figures;
    EXPECT_EQ(light.lightReturn, face.lightReturn);
    EXPECT_EQ(light.leaked, face.leaked);
    EXPECT_FALSE(lightOf(stone, round, placedAt(6.5), std::nullopt, 1).colour);
    EXPECT_EQ(lightOf(stone, round, placedAt(6.5), std::nullopt, 1).light.contrast, light.contrast);
}

TEST(LightFigure, ADefectUnderTheTableTakesLightAndOneOutsideTakesNone) {
    Stone stone = emptyStone();
    const Design round = makeDesign("round", {});
    const Placement placement = placedAt(6.5);
    const double clean = lightOf(stone, round, placement, std::nullopt, 0).light.lightReturn;
    Defect spot;
    spot.name = "spot";
    spot.kind = DefectKind::Crystal;
    const Eigen::Vector3d below = placement.rotation * Eigen::Vector3d(0.0, 0.0, -0.3);
    spot.shape = Ellipsoid{placement.translation_mm + below, {0.4, 0.4, 0.4}};
    stone.defects = {spot};
    const LightFigure dim = lightOf(stone, round, placement, std::nullopt, 0).light;
    EXPECT_EQ(dim.bodies, 1);
    EXPECT_LT(dim.lightReturn, clean - 0.005);
    std::get<Ellipsoid>(stone.defects[0].shape).centre_mm.x() += 50.0;
    const LightFigure away = lightOf(stone, round, placement, std::nullopt, 0).light;
    EXPECT_EQ(away.bodies, 0);
    EXPECT_EQ(away.lightReturn, clean);
}

TEST(LightFigure, TheRecordedHueChoosesTheModelAndALargerStoneIsDeeper) {
    EXPECT_FALSE(spectrumOfHue(""));
    EXPECT_FALSE(spectrumOfHue("greenish blue"));
    EXPECT_EQ(spectrumOfHue("brownish pink")->name, "pink");
    EXPECT_EQ(spectrumOfHue("pinkish brown")->name, "brown");
    EXPECT_EQ(spectrumOfHue("yellow")->name, "cape_yellow");
    const Stone stone = emptyStone();
    const Design round = makeDesign("round", {});
    const auto pink = spectrumOfHue("pink");
    const auto small = lightOf(stone, round, placedAt(4.0), pink, 0).colour;
    const auto large = lightOf(stone, round, placedAt(8.0), pink, 0).colour;
    ASSERT_TRUE(small && large);
    EXPECT_GT(large->lab.chroma(), 1.2 * small->lab.chroma());
    EXPECT_LT(large->lab.lightness, small->lab.lightness);
}
