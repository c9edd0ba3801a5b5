// The whole appraisal of a layout: every figure, or why it is missing.
#include "core/appraise/layout_appraisal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <iostream>

#include "core/appraise/mirrored.h"
#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

struct Desk {
    Desk()
        : stone(octahedronStone(7.5, 2)),
          cutter(stone.rough),
          subject{stone, cutter, "round", {}, {}},
          scale(readClarityScale(defaultClarityScale())),
          prices(readPrices({demoPrices()})),
          rates(readShopRates(defaultShopRates())) {
        subject.placement.size_mm = 6.6;
        Defect spot;
        spot.name = "spot";
        spot.kind = DefectKind::Pinpoint;
        spot.policy = DefectPolicy::MayStay;
        spot.shape = Ellipsoid{{0.4, 0.2, 0.3}, Vector3d::Constant(0.02)};
        stone.defects = {spot};
        stone.axes = CrystalAxes{};
        stone.colour.body.letter = "H";
        stone.colour.body.hue = "yellow";
    }
    AppraisalInputs all() const {
        AppraisalInputs inputs;
        inputs.scale = &scale;
        inputs.prices = &prices;
        inputs.rates = &rates;
        inputs.turnStep_deg = 5.0;
        inputs.doubt = DoubtRules{};
        inputs.doubt->samples = 100;
        return inputs;
    }
    Stone stone;
    RoughCutter cutter;
    Subject subject;
    ClarityScale scale;
    PriceTable prices;
    ShopRates rates;
};

}  // namespace

TEST(LayoutAppraisal, HasEveryFigureWhenAllIsGiven) {
    const Desk desk;
    Progress progress;
    const LayoutAppraisal a = appraiseLayout(desk.subject, desk.all(), &progress);
    EXPECT_EQ(progress.fraction(), 1.0);
    const Design design = makeDesign("round", {});
    EXPECT_NEAR(a.weight.finished_ct,
                carats(designVolume(design) * std::pow(6.6, 3), desk.stone.material.density_g_cm3),
                1e-9);
    EXPECT_GT(a.worstBand, 0);
    ASSERT_TRUE(a.clarity.figure && a.value.figure && a.work.figure && a.margin.figure &&
                a.grain.figure && a.turns.figure && a.doubt.figure);
    ASSERT_EQ(a.clarity.figure->defects.size(), 1u);
    EXPECT_NEAR(a.clarity.figure->defects[0].seen_um, 40.0, 1e-6);
    ASSERT_TRUE(a.clarity.figure->defects[0].reflections);
    EXPECT_NEAR(a.margin.figure->margin, *a.value.figure->value - a.work.figure->cost, 1e-9);
    EXPECT_EQ(a.value.figure->value,
              valueAlone(desk.prices,
                         {"round", a.weight.finished_ct, "H", a.clarity.figure->name,
                          FluorescenceStrength::NotSeen, a.worstBand, WeightRounding::UpAtNine}));
    // The axes of the crystal are those of the octahedron: a four-point stone.
    EXPECT_EQ(a.grain.figure->table.nearest, PointNaming::FourPoint);
    for (const FigureLine& line : figureLines(a)) {
        EXPECT_TRUE(line.known) << line.title << ": " << line.text;
        EXPECT_FALSE(line.text.empty()) << line.title;
        EXPECT_FALSE(line.reasons.empty()) << line.title;
    }
}

TEST(LayoutAppraisal, SaysWhyAFigureIsMissing) {
    Desk desk;
    desk.stone.axes.reset();
    desk.stone.colour.body.letter.clear();
    desk.stone.colour.body.hue.clear();
    AppraisalInputs inputs;
    inputs.light = false;
    const LayoutAppraisal bare = appraiseLayout(desk.subject, inputs);
    EXPECT_GT(bare.weight.finished_ct, 0.0);
    int missing = 0;
    for (const FigureLine& line : figureLines(bare))
        if (!line.known) {
            ++missing;
            EXPECT_THAT(line.text, testing::EndsWith(".")) << line.title;
        }
    EXPECT_EQ(missing, 9);
    inputs = desk.all();
    inputs.mirrored = false;
    inputs.light = true;
    inputs.doubt.reset();
    const LayoutAppraisal uncoloured = appraiseLayout(desk.subject, inputs);
    EXPECT_THAT(uncoloured.value.missing, HasSubstr("No colour letter"));
    EXPECT_THAT(uncoloured.margin.missing, HasSubstr("No value"));
    EXPECT_THAT(uncoloured.faceColour.missing, HasSubstr("No hue"));
    EXPECT_TRUE(uncoloured.light.figure);
    EXPECT_THAT(uncoloured.grain.missing, HasSubstr("axes are not known"));
    EXPECT_FALSE(uncoloured.clarity.figure->defects[0].reflections);
    EXPECT_THAT(uncoloured.clarity.figure->reasons.back().what, HasSubstr("not asked for"));
    inputs.colour = "G";
    EXPECT_TRUE(appraiseLayout(desk.subject, inputs).value.figure);
    desk.rates.currency = "EUR";
    EXPECT_THAT(appraiseLayout(desk.subject, inputs).margin.missing,
                HasSubstr("Prices are in invented units and rates in EUR"));
}

TEST(LayoutAppraisal, EveryCutIsAppraised) {
    Desk desk;
    AppraisalInputs inputs = desk.all();
    inputs.mirrored = false;
    inputs.turnStep_deg = 20.0;
    inputs.doubt->samples = 6;
    for (const CutInfo& cut : cutLibrary()) {
        desk.subject.cut = cut.name;
        desk.subject.placement.size_mm = 3.0;
        const LayoutAppraisal a = appraiseLayout(desk.subject, inputs);
        ASSERT_TRUE(a.value.figure) << cut.name << ": " << a.value.missing;
        EXPECT_GT(a.work.figure->minutes, 500.0) << cut.name;
        EXPECT_EQ(a.doubt.figure->redrawn, 0) << cut.name;
        EXPECT_GT(a.doubt.figure->weight_ct.p5, 0.9 * a.weight.finished_ct) << cut.name;
        EXPECT_EQ(a.grain.figure->table.nearest, PointNaming::FourPoint) << cut.name;
        for (const FigureLine& line : figureLines(a))
            EXPECT_TRUE(line.known || line.title == "Proportions") << cut.name << line.title;
    }
}

TEST(LayoutAppraisal, TellsOfNaturalsAndOfWhatMustNotStay) {
    Desk desk;
    desk.subject.placement.size_mm = 8.0;
    desk.stone.defects[0].policy = DefectPolicy::MustBeCutAway;
    AppraisalInputs inputs;
    inputs.scale = &desk.scale;
    inputs.mirrored = false;
    const LayoutAppraisal a = appraiseLayout(desk.subject, inputs);
    EXPECT_FALSE(a.weight.inside);
    std::string account;
    for (const FigureLine& line : figureLines(a)) {
        account += line.text + "\n";
        for (const Reason& reason : line.reasons)
            account += reasonText(reason) + "\n";
    }
    EXPECT_THAT(account, HasSubstr("reaches out of the rough, so naturals are left"));
    EXPECT_THAT(account, HasSubstr("Naturals left on the stone, which are not counted: "));
    EXPECT_THAT(account, HasSubstr("spot remains, though by its policy it must not stay there"));
}

TEST(LayoutAppraisal, StopsWhenCancelled) {
    const Desk desk;
    Progress progress;
    progress.cancel();
    EXPECT_THROW(appraiseLayout(desk.subject, desk.all(), &progress), Error);
}

TEST(Mirrored, ADefectNearTheCuletIsShownManyTimes) {
    // Pavilion facets mirror one another's halves of the stone: what lies in the culet's tip is
    // seen in most of them, what lies close under the table's middle is not (common practice, no
    // source).
    const Desk desk;
    const Design design = makeDesign("round", {});
    Placement placement = desk.subject.placement;
    placement.rotation = Eigen::Quaterniond(0.3, 0.4, -0.5, 0.7).normalized();
    placement.translation_mm = Vector3d(0.5, -0.1, 0.2);
    const auto at = [&](const Vector3d& cut_mm, double radius_mm) {
        Defect defect;
        defect.shape = Ellipsoid{placement.rotation * cut_mm + placement.translation_mm,
                                 Vector3d::Constant(radius_mm)};
        return defect;
    };
    const auto images = mirroredImages(
        {at({0.25, 0.1, -2.4}, 0.03), at({0.02, 0.01, 0.98}, 0.03), at({9, 0, 0}, 0.1)}, design,
        placement, desk.stone.material);
    ASSERT_TRUE(images[0] && images[1]);
    EXPECT_FALSE(images[2]);
    std::cout << "reflections near the culet " << *images[0] << ", under the table " << *images[1]
              << "\n";
    EXPECT_GT(*images[0], *images[1]);
}
