// Searching by value and clarity instead of weight.
#include "core/appraise/worth.h"

#include <gtest/gtest.h>

#include <cmath>
#include <iostream>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/fit/worth_fit.h"
#include "core/fit/worth_free.h"
#include "core/light/face_colour.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

// A block that gives a cube of 1.08 ct with a spot at one face, or one of about 1.02 ct without.
Stone spottedBlock() {
    Stone stone;
    stone.material.density_g_cm3 = 3.515;
    const double half = 0.5 * std::cbrt(cubicMillimetres(1.08, 3.515));
    stone.rough = rough(boxMesh(Vector3d::Constant(-half), Vector3d::Constant(half)));
    const double clean = std::cbrt(cubicMillimetres(1.025, 3.515));
    Defect spot;
    spot.name = "spot";
    spot.kind = DefectKind::Crystal;
    spot.policy = DefectPolicy::MayStay;
    spot.shape = boxMesh({clean - half, -0.05, -0.05}, {half - 0.005, 0.05, 0.05});
    stone.defects = {spot};
    return stone;
}

// With a step at 1.00 ct, as prices have in the trade.
PriceTable prices() {
    return parsePrices(
        "shape,weight_from_ct,weight_to_ct,colour,clarity,price_per_ct,currency\n"
        "any,0.50,0.99,G,loupe clean,3900,EUR\n"
        "any,0.50,0.99,G,VVS1-P3,3000,EUR\n"
        "any,1.00,1.49,G,loupe clean,5000,EUR\n"
        "any,1.00,1.49,G,VVS1-P3,4000,EUR\n",
        "prices.csv");
}

FitOptions byPoses(long long poses) {
    FitOptions options;
    options.seconds = 0.0;
    options.poses = poses;
    options.threads = 2;
    return options;
}

}  // namespace

TEST(Worth, ValueBeatsWeightAtASizeStep) {
    const Stone stone = spottedBlock();
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cubeDesign(), {});
    const ClarityScale scale = readClarityScale(defaultClarityScale());
    const PriceTable table = prices();
    ValueQuery query;
    query.cut = "cube";
    query.colour = "G";
    const PlacementWorth worth(stone, cubeDesign(), scale, &table, query, Sought::Value);
    const auto ask = [&](const Placement& placement) { return worth.read(placement).worth; };
    const WorthFitResult found = findWorthiest(gauge, ask, byPoses(1500));
    const WorthReading reading = worth.read(found.fit.placement);
    // The heaviest is 1.08 ct with the spot; the dearest lies between 1.00 and 1.025 ct without.
    EXPECT_NEAR(found.heaviest, 1.08 * 4000.0, 50.0);
    EXPECT_EQ(reading.clarity, "loupe clean");
    EXPECT_GE(roundedHundredths(reading.weight_ct, WeightRounding::UpAtNine), 100);
    EXPECT_LT(reading.weight_ct, 1.0251);
    EXPECT_GE(found.worth, 5000.0);
    EXPECT_GT(found.worth, found.heaviest + 500.0);
    std::cout << "by value " << reading.weight_ct << " ct worth " << found.worth
              << ", the heaviest worth " << found.heaviest << "\n";

    // The same again is the same.
    const WorthFitResult again = findWorthiest(gauge, ask, byPoses(1500));
    EXPECT_EQ(again.worth, found.worth);
    EXPECT_EQ(again.fit.placement.size_mm, found.fit.placement.size_mm);
}

TEST(Worth, ClarityGoesBeforeWeight) {
    const Stone stone = spottedBlock();
    const ClarityScale scale = readClarityScale(defaultClarityScale());
    const PlacementWorth worth(stone, cubeDesign(), scale, nullptr, {}, Sought::Clarity);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cubeDesign(), {});
    const WorthFitResult found = findWorthiest(
        gauge, [&](const Placement& p) { return worth.read(p).worth; }, byPoses(1500));
    const WorthReading reading = worth.read(found.fit.placement);
    EXPECT_EQ(reading.grade, 0);
    EXPECT_FALSE(reading.value);
    EXPECT_GT(reading.weight_ct, 0.95);
    EXPECT_LT(found.heaviest, 0.0);
}

TEST(Worth, AFreePavilionMakesTheColourDeepOrPale) {
    // The face-up chroma of the same rough and cut, pavilion free within 37 to 43 degrees, against
    // a plain sweep over the same range at the same pose.
    Stone stone = octahedronStone(6.0);
    const Obstacles obstacles(stone);
    const ClarityScale scale = readClarityScale(defaultClarityScale());
    const AbsorptionSpectrum pink = loadSpectrum("pink");
    const std::vector<FreeProportion> free = {{"pavilion_deg", 37.0, 43.0}};
    const auto chromaOf = [&](Sought sought, WorthFreeResult& found) {
        const auto worth = [&](const Design& design, const Placement& placement) {
            return PlacementWorth(stone, design, scale, nullptr, {}, sought, &pink)
                .read(placement)
                .worth;
        };
        found = findWorthiestFree(obstacles, "round", {}, {}, free, {}, worth, byPoses(800));
        EXPECT_GE(found.worth, found.before);
        return std::abs(found.worth);
    };
    WorthFreeResult deep, pale;
    const double deepest = chromaOf(Sought::DeepColour, deep);
    const double palest = chromaOf(Sought::PaleColour, pale);
    EXPECT_GT(deepest, palest);
    double most = 0.0, least = 1e9;
    for (double pavilion_deg = 37.0; pavilion_deg <= 43.0; pavilion_deg += 0.5) {
        auto proportions = deep.proportions;
        proportions["pavilion_deg"] = pavilion_deg;
        const Design design = makeDesign("round", proportions);
        const Placement placement = settle(Gauge(obstacles, design, {}), deep.fit.placement);
        const double chroma =
            faceColour(design, placement.size_mm, stone.material, pink).lab.chroma();
        most = std::max(most, chroma);
        least = std::min(least, chroma);
    }
    std::cout << "chroma deep " << deepest << " at " << deep.proportions.at("pavilion_deg")
              << ", pale " << palest << " at " << pale.proportions.at("pavilion_deg") << ", sweep "
              << least << " to " << most << ", tried " << deep.tried << " and " << pale.tried
              << "\n";
    // A compass finds a best nearby; the sweep has noise of about 2 %.
    EXPECT_GT(deepest, 0.9 * most);
    EXPECT_THROW(
        PlacementWorth(stone, makeDesign("round", {}), scale, nullptr, {}, Sought::DeepColour),
        Error);
}

TEST(Worth, WeightIsTheWeight) {
    const Stone stone = spottedBlock();
    const ClarityScale scale = readClarityScale(defaultClarityScale());
    const PlacementWorth worth(stone, cubeDesign(), scale, nullptr, {}, Sought::Weight);
    Placement placement;
    placement.size_mm = 3.0;
    EXPECT_DOUBLE_EQ(worth.read(placement).worth, carats(27.0, 3.515));
    for (const Sought sought :
         {Sought::Weight, Sought::Value, Sought::Clarity, Sought::DeepColour, Sought::PaleColour})
        EXPECT_EQ(soughtFromName(soughtName(sought)), sought);
    EXPECT_THROW(soughtFromName("beauty"), Error);
}

TEST(Worth, OfValueNeedsPricesAndColour) {
    const Stone stone = spottedBlock();
    const ClarityScale scale = readClarityScale(defaultClarityScale());
    const PriceTable table = prices();
    EXPECT_THROW(PlacementWorth(stone, cubeDesign(), scale, nullptr, {}, Sought::Value), Error);
    EXPECT_THROW(PlacementWorth(stone, cubeDesign(), scale, &table, {}, Sought::Value), Error);
}
