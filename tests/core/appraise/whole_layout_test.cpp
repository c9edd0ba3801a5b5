#include "core/appraise/whole_layout.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/divide/second_stone.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

// A block of 8 x 4 x 4 mm, sawn across its middle with a kerf of 0.2 mm, a round in each half.
struct Desk {
    Desk()
        : scale(readClarityScale(defaultClarityScale())),
          prices(readPrices({demoPrices()})),
          rates(readShopRates(defaultShopRates())) {
        stone.name = "block";
        stone.material = loadMaterial("diamond");
        stone.rough = rough(boxMesh({-4.0, -2.0, -2.0}, {4.0, 2.0, 2.0}));
        stone.colour.body.letter = "H";
        Saw saw;
        saw.normal = Vector3d::UnitX();
        saw.kerf_mm = 0.2;
        layout.saws = {saw};
        layout.stones.resize(2);
        for (const int i : {0, 1}) {
            PlannedStone& planned = layout.stones[static_cast<std::size_t>(i)];
            planned.piece = i;
            planned.placement.size_mm = 3.0;
            planned.placement.translation_mm = {i == 0 ? -2.0 : 2.3, 0.0, 0.0};
        }
    }
    AppraisalInputs all() const {
        AppraisalInputs inputs;
        inputs.scale = &scale;
        inputs.prices = &prices;
        inputs.rates = &rates;
        inputs.mirrored = false;
        inputs.light = false;
        return inputs;
    }
    Stone stone;
    Layout layout;
    ClarityScale scale;
    PriceTable prices;
    ShopRates rates;
};

std::string refusal(const Desk& desk) {
    const RoughCutter cutter(desk.stone.rough);
    try {
        weighWhole(desk.stone, cutter, desk.layout);
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        return error.message();
    }
    return "";
}

}  // namespace

TEST(WholeLayout, TellsWhatBecomesOfEveryCarat) {
    const Desk desk;
    const RoughCutter cutter(desk.stone.rough);
    Progress progress;
    const WholeLayout w = appraiseWhole(desk.stone, cutter, desk.layout, desk.all(), &progress);
    EXPECT_EQ(progress.fraction(), 1.0);
    const double density = desk.stone.material.density_g_cm3;
    const double stone_ct = carats(27.0 * designVolume(makeDesign("round", {})), density);
    ASSERT_EQ(w.stones.size(), 2u);
    ASSERT_EQ(w.pieces.size(), 2u);
    EXPECT_NEAR(w.rough_ct, carats(128.0, density), 1e-12);
    EXPECT_NEAR(w.kerf_ct, carats(0.2 * 16.0, density), 1e-12);
    EXPECT_NEAR(w.finished_ct, 2.0 * stone_ct, 1e-9);
    EXPECT_NEAR(w.outside_ct, carats(3.9 * 32.0, density) - 2.0 * stone_ct, 1e-9);
    EXPECT_EQ(w.leftOver_ct, 0.0);
    EXPECT_NEAR(w.recovery_percent, 100.0 * 2.0 * stone_ct / w.rough_ct, 1e-9);
    for (const WholePiece& piece : w.pieces) {
        EXPECT_NEAR(piece.piece_ct, carats(3.9 * 16.0, density), 1e-12);
        EXPECT_NEAR(piece.loss_ct, piece.piece_ct - stone_ct, 1e-9);
    }
    // A girdle corner looks along x: the stones reach to -0.5 and 0.8, the kerf from -0.1 to 0.1.
    ASSERT_EQ(w.pairs.size(), 1u);
    EXPECT_NEAR(w.pairs[0].distance_mm, 1.3, 0.02);
    EXPECT_EQ(w.pairs[0].saw, 0);
    EXPECT_EQ(w.pairs[0].kerf_mm, 0.2);
    EXPECT_TRUE(w.pairs[0].apart);
    EXPECT_NEAR(*w.stones[0].saw_mm, 0.4, 0.02);
    EXPECT_NEAR(*w.stones[1].saw_mm, 0.7, 0.02);
    EXPECT_NEAR(*w.stones[0].skin_mm, 0.5, 0.02);
    EXPECT_NEAR(*w.stones[1].skin_mm, 0.2, 0.02);
    EXPECT_TRUE(w.open.empty());
    // Sums of money and time.
    ASSERT_TRUE(w.value.figure && w.work.figure && w.margin.figure);
    EXPECT_NEAR(w.value.figure->value, *w.stones[0].figures->value.figure->value * 2.0, 1e-9);
    ASSERT_EQ(w.work.figure->sawing.size(), 1u);
    EXPECT_NEAR(w.work.figure->sawing[0].minutes, 15.0 + 20.0 * w.rough_ct, 1e-9);
    EXPECT_NEAR(w.work.figure->minutes,
                w.work.figure->sawing[0].minutes + w.stones[0].figures->work.figure->minutes +
                    w.stones[1].figures->work.figure->minutes,
                1e-9);
    EXPECT_NEAR(w.margin.figure->margin, w.value.figure->value - w.work.figure->cost, 1e-9);
    for (const FigureLine& line : figureLines(w)) {
        EXPECT_TRUE(line.known) << line.title << ": " << line.text;
        EXPECT_FALSE(line.reasons.empty()) << line.title;
    }
}

TEST(WholeLayout, QuickFormHasTheSameWeightsAndSaysWhatIsMissing) {
    const Desk desk;
    const RoughCutter cutter(desk.stone.rough);
    const WholeLayout quick = weighWhole(desk.stone, cutter, desk.layout);
    const WholeLayout full = appraiseWhole(desk.stone, cutter, desk.layout, {});
    EXPECT_EQ(quick.finished_ct, full.finished_ct);
    EXPECT_EQ(quick.kerf_ct, full.kerf_ct);
    EXPECT_EQ(quick.pairs[0].distance_mm, full.pairs[0].distance_mm);
    EXPECT_FALSE(quick.stones[0].figures);
    EXPECT_FALSE(quick.stones[0].skin_mm);
    EXPECT_EQ(full.stones[0].figures->weight.finished_ct, quick.stones[0].weight.finished_ct);
    EXPECT_THAT(full.value.missing, HasSubstr("No price table"));
    EXPECT_THAT(full.work.missing, HasSubstr("No shop rates"));
    EXPECT_THAT(full.margin.missing, HasSubstr("No value"));
    Desk uncoloured;
    uncoloured.stone.colour.body.letter.clear();
    const RoughCutter other(uncoloured.stone.rough);
    EXPECT_THAT(
        appraiseWhole(uncoloured.stone, other, uncoloured.layout, uncoloured.all()).value.missing,
        HasSubstr("Stone 1 has no value: "));
    Desk unsawing;
    std::erase_if(unsawing.rates.operations,
                  [](const OperationRates& one) { return one.operation == "sawing"; });
    EXPECT_THAT(appraiseWhole(desk.stone, cutter, desk.layout, unsawing.all()).work.missing,
                HasSubstr("nothing of sawing"));
}

TEST(WholeLayout, AnUndividedRoughIsAppraisedAsBefore) {
    Desk desk;
    desk.layout.saws.clear();
    desk.layout.stones.resize(1);
    const RoughCutter cutter(desk.stone.rough);
    const WholeLayout w = appraiseWhole(desk.stone, cutter, desk.layout, desk.all());
    EXPECT_EQ(w.stones[0].stone.get(), &desk.stone);
    EXPECT_EQ(w.stones[0].cutter.get(), &cutter);
    EXPECT_EQ(w.kerf_ct, 0.0);
    EXPECT_FALSE(w.stones[0].saw_mm);
    const LayoutAppraisal alone =
        appraiseLayout({desk.stone, cutter, "round", {}, desk.layout.main().placement}, desk.all());
    EXPECT_EQ(w.finished_ct, alone.weight.finished_ct);
    EXPECT_EQ(w.value.figure->value, *alone.value.figure->value);
    EXPECT_EQ(w.work.figure->minutes, alone.work.figure->minutes);
    EXPECT_EQ(w.margin.figure->margin, alone.margin.figure->margin);
}

TEST(WholeLayout, TheScaleWeightIsSharedOut) {
    Desk desk;
    desk.stone.trusted = TrustedWeight::Scale;
    desk.stone.scale_ct = 2.2;
    const RoughCutter cutter(desk.stone.rough);
    const WholeLayout w = weighWhole(desk.stone, cutter, desk.layout);
    EXPECT_NEAR(w.rough_ct, 2.2, 1e-12);
    EXPECT_NEAR(w.finished_ct + w.kerf_ct + w.outside_ct, 2.2, 1e-12);
    EXPECT_NEAR(w.kerf_ct, 2.2 * 0.2 / 8.0, 1e-12);
}

TEST(WholeLayout, SaysWhatIsStillOpen) {
    Desk desk;
    // Into the kerf.
    desk.layout.stones[0].placement.translation_mm.x() = -1.45;
    const RoughCutter cutter(desk.stone.rough);
    WholeLayout w = weighWhole(desk.stone, cutter, desk.layout);
    EXPECT_FALSE(w.stones[0].inside);
    EXPECT_NEAR(*w.stones[0].saw_mm, -0.15, 0.02);
    EXPECT_FALSE(w.pairs[0].apart);
    ASSERT_EQ(w.open.size(), 1u);
    EXPECT_THAT(w.open[0], HasSubstr("Stone 1 reaches 0.1"));
    EXPECT_LT(w.stones[0].weight.finished_ct, w.stones[1].weight.finished_ct);
    // Out of the skin.
    desk.layout.stones[0].placement.translation_mm = {-2.0, 0.7, 0.0};
    w = weighWhole(desk.stone, cutter, desk.layout);
    ASSERT_EQ(w.open.size(), 1u);
    EXPECT_THAT(w.open[0], HasSubstr("out of the rough"));
    // Its corner pokes out by 0.2 mm; moving all facets inward draws a corner in by more than that.
    const double skin_mm = *appraiseWhole(desk.stone, cutter, desk.layout, {}).stones[0].skin_mm;
    EXPECT_LT(skin_mm, -0.1);
    EXPECT_GT(skin_mm, -0.2);
    // No saw between them.
    desk = Desk();
    desk.layout.saws.clear();
    desk.layout.stones[1].piece = 0;
    w = weighWhole(desk.stone, cutter, desk.layout);
    ASSERT_EQ(w.open.size(), 1u);
    EXPECT_THAT(w.open[0], HasSubstr("no saw parts them"));
    EXPECT_EQ(w.pairs[0].saw, -1);
    EXPECT_NEAR(w.finished_ct + w.outside_ct, w.rough_ct, 1e-9);
    EXPECT_FALSE(figureLines(w)[2].reasons.empty());
    // A piece that gives no stone.
    desk = Desk();
    desk.layout.stones.resize(1);
    w = weighWhole(desk.stone, cutter, desk.layout);
    EXPECT_NEAR(w.leftOver_ct, w.pieces[1].piece_ct, 1e-12);
}

TEST(WholeLayout, RefusesWhatMakesNoSense) {
    Desk desk;
    desk.layout.stones[1].piece = 2;
    EXPECT_THAT(refusal(desk), HasSubstr("Stone 2 is to be cut from piece 3, but"));
    desk = Desk();
    desk.layout.stones[1].piece = 0;
    desk.layout.stones[1].placement.translation_mm.x() = -2.1;
    EXPECT_THAT(refusal(desk), HasSubstr("overlap: the division is unfinished"));
    desk = Desk();
    std::swap(desk.layout.stones[0].piece, desk.layout.stones[1].piece);
    EXPECT_THAT(refusal(desk), HasSubstr("Stone 1 lies wholly outside its piece 2"));
    desk = Desk();
    desk.layout.stones.clear();
    EXPECT_THAT(refusal(desk), HasSubstr("between 1 and"));
    desk = Desk();
    const RoughCutter cutter(desk.stone.rough);
    const auto divided = std::make_shared<const DividedStone>(divideStone(desk.stone, cutter, {}));
    EXPECT_THROW(weighWhole(divided, desk.layout), Error);
    Progress cancelled;
    cancelled.cancel();
    EXPECT_THROW(appraiseWhole(desk.stone, cutter, desk.layout, {}, &cancelled), Error);
}

TEST(WholeLayout, KnowsWhichSawPartsTwoPieces) {
    std::vector<Saw> saws(4);
    saws[1].piece = 1;
    saws[2].piece = 0;
    saws[3].piece = 2;
    // Pieces: 0; 1 off 0 by saw 0; 2 off 1 by saw 1; 3 off 0 by saw 2; 4 off 2 by saw 3.
    EXPECT_EQ(partingSaw(saws, 0, 1), 0);
    EXPECT_EQ(partingSaw(saws, 1, 2), 1);
    EXPECT_EQ(partingSaw(saws, 2, 4), 3);
    EXPECT_EQ(partingSaw(saws, 1, 4), 1);
    EXPECT_EQ(partingSaw(saws, 3, 4), 0);
    EXPECT_EQ(partingSaw(saws, 0, 3), 2);
    EXPECT_EQ(partingSaw(saws, 3, 3), -1);
}
