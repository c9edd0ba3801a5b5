#include "core/appraise/comparison.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

struct Desk {
    Desk()
        : scale(readClarityScale(defaultClarityScale())),
          prices(readPrices({demoPrices()})),
          rates(readShopRates(defaultShopRates())) {
        stone.material = loadMaterial("diamond");
        stone.rough = rough(boxMesh({-4.0, -2.0, -2.0}, {4.0, 2.0, 2.0}));
        stone.colour.body.letter = "H";
        stone.axes = CrystalAxes{};
    }
    static Layout alone() {
        Layout layout;
        layout.name = "One";
        layout.main().placement.size_mm = 3.9;
        return layout;
    }
    static Layout pair() {
        Layout layout;
        layout.name = "Two";
        Saw saw;
        saw.normal = Vector3d::UnitX();
        saw.kerf_mm = 0.2;
        layout.saws = {saw};
        layout.stones.resize(2);
        for (const int i : {0, 1}) {
            PlannedStone& planned = layout.stones[static_cast<std::size_t>(i)];
            planned.piece = i;
            planned.placement.size_mm = i == 0 ? 3.7 : 3.5;
            planned.placement.translation_mm.x() = i == 0 ? -2.0 : 2.0;
        }
        return layout;
    }
    WholeLayout whole(const Layout& layout, bool light = false) const {
        AppraisalInputs inputs;
        inputs.scale = &scale;
        inputs.prices = &prices;
        inputs.rates = &rates;
        inputs.mirrored = false;
        inputs.light = light;
        const RoughCutter cutter(stone.rough);
        return appraiseWhole(stone, cutter, layout, inputs);
    }
    Stone stone;
    ClarityScale scale;
    PriceTable prices;
    ShopRates rates;
};

const ComparedRow& row(const Comparison& comparison, const std::string& title) {
    for (const ComparedRow& one : comparison.rows)
        if (one.title == title) return one;
    throw Error(ErrorCode::Internal, "no row " + title, "");
}

}  // namespace

TEST(Comparison, MarksTheBestAndGivesSignedDifferences) {
    const Desk desk;
    const std::vector<WholeLayout> layouts = {desk.whole(Desk::alone()), desk.whole(Desk::pair())};
    const Comparison c = compareLayouts(layouts);
    EXPECT_EQ(c.names, (std::vector<std::string>{"One", "Two"}));
    const ComparedRow& weight = row(c, "Weight");
    EXPECT_EQ(weight.better, Better::Higher);
    EXPECT_FALSE(weight.cells[0].best);
    EXPECT_TRUE(weight.cells[1].best);
    EXPECT_FALSE(weight.cells[0].difference);
    EXPECT_NEAR(*weight.cells[1].difference, layouts[1].finished_ct - layouts[0].finished_ct,
                1e-12);
    EXPECT_EQ(weight.cells[1].differenceText.front(), '+');
    EXPECT_TRUE(row(c, "Heaviest stone").cells[0].best);
    EXPECT_TRUE(row(c, "Lost to kerfs").cells[0].best);
    EXPECT_FALSE(row(c, "Lost to kerfs").cells[1].best);
    EXPECT_FALSE(row(c, "Stones").cells[1].best);  // more stones are neither better nor worse
    EXPECT_EQ(row(c, "Stones").cells[1].text, "2");
    // Equal all round: nothing is best.
    EXPECT_EQ(row(c, "Clarity").cells[0].text, "loupe clean");
    EXPECT_EQ(row(c, "Clarity").cells[1].text, "loupe clean, loupe clean");
    EXPECT_FALSE(row(c, "Clarity").cells[0].best);
    EXPECT_FALSE(row(c, "Pieces without a stone").cells[1].best);
    // The sums are those of the layouts.
    EXPECT_EQ(row(c, "Value").cells[1].value, layouts[1].value.figure->value);
    EXPECT_EQ(row(c, "Value").unit, layouts[1].value.figure->currency);
    EXPECT_EQ(row(c, "Working time").cells[1].value, layouts[1].work.figure->minutes);
    EXPECT_EQ(*row(c, "Least angle to an octahedral plane").cells[1].value,
              std::min(layouts[1].stones[0].figures->grain.figure->worst_deg,
                       layouts[1].stones[1].figures->grain.figure->worst_deg));
    // Against the other one the signs turn.
    const Comparison other = compareLayouts(layouts, 1);
    EXPECT_EQ(*row(other, "Weight").cells[0].difference, -*weight.cells[1].difference);
    EXPECT_EQ(row(other, "Weight").cells[0].differenceText.front(), '-');
    EXPECT_TRUE(row(other, "Weight").cells[1].best);
    // Points of a chart.
    ASSERT_EQ(c.points.size(), 2u);
    EXPECT_EQ(c.points[1].stones, 2);
    EXPECT_EQ(c.points[1].weight_ct, layouts[1].finished_ct);
    EXPECT_EQ(c.points[1].value, layouts[1].value.figure->value);
    EXPECT_EQ(c.points[1].clarityRank, 0);
    EXPECT_FALSE(c.points[1].chroma);
}

TEST(Comparison, SaysWhyAFigureIsMissing) {
    Desk desk;
    desk.stone.axes.reset();
    const RoughCutter cutter(desk.stone.rough);
    const std::vector<WholeLayout> layouts = {desk.whole(Desk::pair()),
                                              weighWhole(desk.stone, cutter, Desk::alone())};
    const Comparison c = compareLayouts(layouts);
    EXPECT_THAT(row(c, "Least angle to an octahedral plane").cells[0].text,
                HasSubstr("axes are not known"));
    EXPECT_THAT(row(c, "Light that leaks").cells[0].text, HasSubstr("not asked for"));
    EXPECT_THAT(row(c, "Clarity").cells[1].text, HasSubstr("not asked for"));
    EXPECT_FALSE(row(c, "Value").cells[1].value);
    EXPECT_FALSE(row(c, "Value").cells[1].difference);
    EXPECT_FALSE(row(c, "Value").cells[0].best);  // alone it is compared with nothing
    for (const ComparedRow& one : c.rows)
        for (const ComparedCell& cell : one.cells)
            EXPECT_EQ(cell.text.empty(), false) << one.title;
}

TEST(Comparison, LightOfSeveralStonesIsTheirMeanByWeight) {
    const Desk desk;
    const std::vector<WholeLayout> layouts = {desk.whole(Desk::pair(), true),
                                              desk.whole(Desk::alone())};
    const Comparison c = compareLayouts(layouts);
    double sum = 0.0;
    for (const WholeStone& one : layouts[0].stones)
        sum += one.weight.finished_ct * 100.0 * one.figures->light.figure->weightedReturn;
    EXPECT_NEAR(*row(c, "Light return, weighted").cells[0].value, sum / layouts[0].finished_ct,
                1e-9);
    EXPECT_FALSE(row(c, "Light return, weighted").cells[1].value);
}

TEST(Comparison, RefusesWhatCannotBeCompared) {
    const Desk desk;
    Desk other;
    other.stone.rough = rough(boxMesh({-4.0, -2.0, -2.0}, {4.5, 2.0, 2.0}));
    const RoughCutter cutter(desk.stone.rough), larger(other.stone.rough);
    const WholeLayout one = weighWhole(desk.stone, cutter, Desk::alone());
    EXPECT_THROW(compareLayouts({one}), Error);
    EXPECT_THROW(compareLayouts({one, one}, 2), Error);
    EXPECT_THROW(compareLayouts({one, weighWhole(other.stone, larger, Desk::alone())}), Error);
    EXPECT_NO_THROW(compareLayouts({one, one, one, one}));
}
