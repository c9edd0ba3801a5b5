// Time and cost from the shop's rates and the weights after each kind of work.
#include "core/appraise/work_estimate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <iostream>
#include <numbers>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/cut/round_brilliant.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

constexpr double kDensity = 3.515;

Stone box(const Vector3d& half_mm) {
    Stone stone;
    stone.material.density_g_cm3 = kDensity;
    stone.rough = rough(boxMesh(-half_mm, half_mm));
    return stone;
}

std::string ratesWith(const std::string& operations) {
    return R"({"note": "n", "currency": "EUR", "hours_per_day": 8, "saw_from_ct": 0.1,
               "windows": 3, "operations": [)" +
           operations + "]}";
}

std::string refusalOf(const std::string& text) {
    try {
        parseShopRates(text, "rates.json");
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput);
        return error.message();
    }
    return "";
}

}  // namespace

TEST(WorkStages, WeighTheBlockAfterEachKindOfWork) {
    const Stone stone = box({4, 4, 5});
    const RoughCutter cutter(stone.rough);
    const Design design = roundBrilliant({});
    Placement placement;
    placement.size_mm = 6.5;
    const WorkStages stages = workStages(stone, cutter, design, placement);
    const double table_mm = 6.5 * design.parts[0].facets.front().distance;
    EXPECT_NEAR(stages.rough_ct, carats(640.0, kDensity), 1e-9);
    EXPECT_NEAR(stages.belowTable_ct, carats(64.0 * (5.0 + table_mm), kDensity), 1e-9);
    // A prism over the regular 64-gon inscribed in the girdle circle.
    const double area = 64.0 * 0.5 * 3.25 * 3.25 * std::sin(2.0 * std::numbers::pi / 64.0);
    EXPECT_NEAR(stages.bruted_ct, carats(area * (5.0 + table_mm), kDensity), 1e-9);
    EXPECT_GT(stages.bruted_ct, stages.blocked_ct);
    EXPECT_GT(stages.blocked_ct, stages.finished_ct);
    EXPECT_NEAR(stages.finished_ct, carats(designVolume(design) * std::pow(6.5, 3), kDensity),
                1e-9);
    // 17 facets are blocked, 40 come with the brillianteering (common practice, no source).
    EXPECT_EQ(stages.blockedFacets, 17);
    EXPECT_EQ(stages.otherFacets, 40);
    EXPECT_NEAR(stages.girdle_mm, 64.0 * 6.5 * std::sin(std::numbers::pi / 64.0), 1e-9);
}

TEST(WorkStages, AreSoundForEveryCut) {
    const Stone stone = box({6, 6, 6});
    const RoughCutter cutter(stone.rough);
    Placement placement;
    placement.size_mm = 4.0;
    for (const CutInfo& cut : cutLibrary()) {
        const WorkStages s = workStages(stone, cutter, makeDesign(cut.name, {}), placement);
        EXPECT_GE(s.rough_ct, s.belowTable_ct - 1e-9) << cut.name;
        EXPECT_GE(s.belowTable_ct, s.bruted_ct - 1e-9) << cut.name;
        EXPECT_GE(s.bruted_ct, s.blocked_ct - 1e-9) << cut.name;
        EXPECT_GE(s.blocked_ct, s.finished_ct - 1e-9) << cut.name;
        EXPECT_GT(s.girdle_mm, 8.0) << cut.name;
        EXPECT_GT(s.blockedFacets + s.otherFacets, 8) << cut.name;
    }
}

TEST(WorkEstimate, AddsUpByHand) {
    WorkStages stages;
    stages.rough_ct = 3.0;
    stages.belowTable_ct = 2.5;
    stages.bruted_ct = 2.2;
    stages.blocked_ct = 1.3;
    stages.finished_ct = 1.2;
    stages.blockedFacets = 17;
    stages.otherFacets = 40;
    stages.girdle_mm = 20.0;
    const std::string operations = R"(
        {"operation": "sawing", "label": "s", "minutes": [{"per": "ct entering", "minutes": 20}],
         "cost_per_hour": 60, "cost_each": 1},
        {"operation": "windowing", "label": "w", "minutes": [{"per": "window", "minutes": 10}],
         "cost_per_hour": 6, "cost_each": 0},
        {"operation": "bruting", "label": "b", "minutes": [{"per": "ct removed", "minutes": 100}],
         "cost_per_hour": 60, "cost_each": 0},
        {"operation": "blocking", "label": "k", "cost_per_hour": 60, "cost_each": 0,
         "minutes": [{"per": "ct removed", "minutes": 100}, {"per": "facet", "minutes": 2}]},
        {"operation": "brillianteering", "label": "f", "cost_per_hour": 60, "cost_each": 0,
         "minutes": [{"per": "ct removed", "minutes": 100}, {"per": "facet", "minutes": 1}]},
        {"operation": "girdle polish", "label": "g", "cost_per_hour": 60, "cost_each": 0,
         "minutes": [{"per": "mm of girdle", "minutes": 2}, {"per": "stone", "minutes": 5}]})";
    const WorkEstimate sawn =
        estimateWork(stages, parseShopRates(ratesWith(operations), "rates.json"));
    ASSERT_EQ(sawn.steps.size(), 6u);
    EXPECT_TRUE(sawn.sawn);
    EXPECT_EQ(sawn.steps[0].operation, "windowing") << "the order is that of the work";
    EXPECT_NEAR(sawn.steps[0].minutes, 30.0, 1e-12);
    EXPECT_NEAR(sawn.steps[0].cost, 3.0, 1e-12);
    EXPECT_NEAR(sawn.steps[1].minutes, 60.0, 1e-12);
    EXPECT_NEAR(sawn.steps[1].cost, 61.0, 1e-12);
    EXPECT_NEAR(sawn.steps[2].minutes, 30.0, 1e-9);
    EXPECT_NEAR(sawn.steps[3].minutes, 90.0 + 34.0, 1e-9);
    EXPECT_NEAR(sawn.steps[4].minutes, 10.0 + 40.0, 1e-9);
    EXPECT_NEAR(sawn.steps[5].minutes, 45.0, 1e-12);
    EXPECT_NEAR(sawn.minutes, 30 + 60 + 30 + 124 + 50 + 45, 1e-9);
    EXPECT_NEAR(sawn.cost, 3 + 61 + 30 + 124 + 50 + 45, 1e-9);
    EXPECT_NEAR(sawn.days, sawn.minutes / 480.0, 1e-12);
    EXPECT_NEAR(sawn.steps[5].entering_ct, 1.2, 1e-12);
    double removed = 0.0;
    for (const WorkStep& step : sawn.steps)
        removed += step.removed_ct;
    EXPECT_NEAR(removed, 1.8, 1e-12);

    // Too little above the table to saw: it is ground away with the blocking.
    ShopRates grinding = parseShopRates(ratesWith(operations), "rates.json");
    grinding.saw_from_ct = 0.6;
    const WorkEstimate ground = estimateWork(stages, grinding);
    EXPECT_FALSE(ground.sawn);
    ASSERT_EQ(ground.steps.size(), 5u);
    EXPECT_NEAR(ground.minutes, sawn.minutes - 60.0 + 50.0, 1e-9);
}

TEST(WorkEstimate, AOneCaratStoneTakesFourToFiveDaysByTheDefaults) {
    // "A 1 ct stone takes 4 to 5 days" (common practice, no source), from an octahedron of which
    // 44 % stay.
    const Stone stone = octahedronStone(6.52);
    const RoughCutter cutter(stone.rough);
    RoundProportions proportions;
    proportions.table_percent = 53.0;
    const Design design = roundBrilliant(proportions);
    Placement placement;
    placement.size_mm = 6.47;
    placement.translation_mm.z() = -0.1;
    const WorkStages stages = workStages(stone, cutter, design, placement);
    EXPECT_NEAR(stages.finished_ct, 1.0, 0.05);
    EXPECT_NEAR(stages.finished_ct / stages.rough_ct, 0.44, 0.03);
    const WorkEstimate estimate = estimateWork(stages, readShopRates(defaultShopRates()));
    std::cout << "1 ct: " << estimate.minutes << " min, " << estimate.days << " days, cost "
              << estimate.cost << "\n";
    for (const WorkStep& step : estimate.steps)
        std::cout << "  " << step.label << " " << step.minutes << " min, off " << step.removed_ct
                  << " ct\n";
    EXPECT_GE(estimate.days, 4.0);
    EXPECT_LE(estimate.days, 5.0);
    EXPECT_THAT(estimate.note, HasSubstr("not truth"));
}

TEST(ShopRates, RefusesWhatItCannotUse) {
    const std::string sound =
        R"({"operation": "marking", "label": "m", "minutes": [], "cost_per_hour": 1, "cost_each": 0})";
    EXPECT_EQ(refusalOf(ratesWith(sound)), "");
    const std::vector<std::pair<std::string, std::string>> bad = {
        {"", "not JSON"},
        {"[]", "is no JSON object"},
        {"{}", "\"note\" is missing"},
        {ratesWith(sound + "," + sound), "\"operations\" has marking a second time"},
        {ratesWith("3"), "operation 1 is no JSON object"},
        {ratesWith(R"({"operation": "dancing", "label": "m", "minutes": [], "cost_per_hour": 1,
                       "cost_each": 0})"),
         "operation 1, \"operation\" names no operation: dancing"},
        {ratesWith(R"({"operation": "marking", "label": "m", "minutes": [], "cost_per_hour": -1,
                       "cost_each": 0})"),
         "operation 1, \"cost_per_hour\" is -1, out of range"},
        {ratesWith(R"({"operation": "marking", "label": "m", "minutes": [{"per": "moon",
                       "minutes": 1}], "cost_per_hour": 1, "cost_each": 0})"),
         "operation 1, minutes, \"per\" is \"moon\""},
        {ratesWith(R"({"operation": "marking", "label": 3, "minutes": [], "cost_per_hour": 1,
                       "cost_each": 0})"),
         "\"label\" is not a text"},
        {ratesWith(R"({"operation": "marking", "label": "m", "minutes": 3, "cost_per_hour": 1,
                       "cost_each": 0})"),
         "\"minutes\" is not a list"},
        {ratesWith(R"({"operation": "marking", "label": "m", "minutes": [], "cost_per_hour": 1e99,
                       "cost_each": 0})"),
         "out of range"},
        {R"({"note": "n", "price": 3})", "\"price\" is no field of it"}};
    for (const auto& [text, words] : bad)
        EXPECT_THAT(refusalOf(text), HasSubstr(words)) << text;
    EXPECT_THROW(readShopRates("/nowhere/rates.json"), Error);
}
