// Doubt by Monte Carlo, against closed forms and first-order propagation.
#include "core/appraise/doubt.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <iostream>
#include <numbers>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/fit/gauge.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

constexpr double kDensity = 3.515;

int samples(int usual) {
    const char* given = std::getenv("MACLE_DOUBT_SAMPLES");
    return given != nullptr ? std::max(1, std::atoi(given)) : usual;
}

Stone cubeStone(double half_mm) {
    Stone stone;
    stone.material.density_g_cm3 = kDensity;
    stone.rough = rough(boxMesh(Vector3d::Constant(-half_mm), Vector3d::Constant(half_mm)));
    return stone;
}

const ClarityScale& scale() {
    static const ClarityScale kScale = readClarityScale(defaultClarityScale());
    return kScale;
}

DoubtRules quiet(int count) {
    DoubtRules rules;
    rules.scan_mm = rules.defect_mm = rules.angle_deg = rules.length_mm = 0.0;
    rules.samples = count;
    return rules;
}

struct Bench {
    explicit Bench(Stone given, double size_mm, std::string cut = "round")
        : stone(std::move(given)),
          cutter(stone.rough),
          subject{stone, cutter, std::move(cut), {}, {}} {
        subject.placement.size_mm = size_mm;
    }
    DoubtFigure doubt(const DoubtRules& rules, Progress* progress = nullptr) const {
        return doubtOf(subject, scale(), nullptr, {}, rules, {}, progress);
    }
    Stone stone;
    RoughCutter cutter;
    Subject subject;
};

double weightOf(const std::string& cut, const std::map<std::string, double>& proportions,
                double size_mm) {
    return carats(designVolume(makeDesign(cut, proportions)) * std::pow(size_mm, 3), kDensity);
}

}  // namespace

TEST(Percentiles, OfOneToHundredAndOne) {
    std::vector<double> values;
    for (int i = 101; i >= 1; --i)
        values.push_back(i);
    const Percentiles p = percentilesOf(values);
    EXPECT_DOUBLE_EQ(p.p5, 6.0);
    EXPECT_DOUBLE_EQ(p.p50, 51.0);
    EXPECT_DOUBLE_EQ(p.p95, 96.0);
    EXPECT_NEAR(p.mean, 51.0, 1e-12);
    EXPECT_NEAR(p.deviation, std::sqrt(101.0 * 102.0 / 12.0), 1e-9);
    EXPECT_EQ(percentilesOf({2.0}).deviation, 0.0);
}

TEST(Doubt, WithoutAnyIsThePlan) {
    const Bench bench(cubeStone(5.0), 6.5);
    const DoubtFigure figure = bench.doubt(quiet(5));
    const double weight = weightOf("round", {}, 6.5);
    EXPECT_DOUBLE_EQ(figure.weight_ct.p5, weight);
    EXPECT_DOUBLE_EQ(figure.weight_ct.p95, weight);
    EXPECT_EQ(figure.weight_ct.deviation, 0.0);
    EXPECT_EQ(figure.grades[0], 1.0);
    EXPECT_TRUE(figure.defects.empty());
    EXPECT_FALSE(figure.value);
    EXPECT_THAT(figure.text, HasSubstr("not a grading report"));
}

TEST(Doubt, OfPolishingAgreesWithFirstOrderPropagation) {
    // Well inside the rough, the weight is a smooth function of the proportions: its variance is
    // the sum of (slope * deviation)^2 for small deviations.
    for (const std::string cut : {"round", "emerald"}) {
        const double size_mm = 6.5;
        const Bench bench(cubeStone(7.0), size_mm, cut);
        DoubtRules rules = quiet(samples(600));
        rules.angle_deg = 0.05;
        rules.length_mm = 0.004;
        const CutInfo& info = findCut(cut);
        const std::map<std::string, double> standard = completeProportions(info, {});
        double variance = 0.0;
        for (const ProportionInfo& p : info.proportions) {
            if (standard.at(p.key) == 0.0) continue;
            const double sigma =
                p.unit == "deg" ? rules.angle_deg : 100.0 * rules.length_mm / size_mm;
            auto low = standard, high = standard;
            low[p.key] -= 1e-3;
            high[p.key] += 1e-3;
            const double slope =
                (weightOf(cut, high, size_mm) - weightOf(cut, low, size_mm)) / 2e-3;
            variance += slope * slope * sigma * sigma;
        }
        const DoubtFigure figure = bench.doubt(rules);
        const double expected = std::sqrt(variance);
        std::cout << cut << ": first order " << expected << " ct, Monte Carlo "
                  << figure.weight_ct.deviation << " ct over " << rules.samples << " samples\n";
        // The deviation of a deviation is 1 / sqrt(2 n) of it: four of these.
        EXPECT_NEAR(figure.weight_ct.deviation / expected, 1.0,
                    4.0 / std::sqrt(2.0 * rules.samples));
        EXPECT_NEAR(figure.weight_ct.mean, weightOf(cut, {}, size_mm),
                    4.0 * expected / std::sqrt(rules.samples));
        // Of a percentile p: sqrt(p (1 - p) / n) over the density there, 0.1031 at 5 %.
        const double ofPercentile = std::sqrt(0.05 * 0.95 / rules.samples) / 0.1031;
        EXPECT_NEAR((figure.weight_ct.p95 - figure.weight_ct.p5) / expected, 2.0 * 1.6449,
                    4.0 * std::numbers::sqrt2 * ofPercentile);
        EXPECT_EQ(figure.redrawn, 0);
    }
}

TEST(Doubt, OfTheSkinOnlyTakesAway) {
    // A round that touches the four sides of the block at its girdle: a skin that lies s further in
    // takes 2 s off its size (girdle flats at the mains stand at half the size).
    Stone stone;
    stone.material.density_g_cm3 = kDensity;
    stone.rough = rough(boxMesh({-3, -3, -6}, {3, 3, 6}));
    Bench bench(std::move(stone), 5.0);
    const Obstacles obstacles(bench.stone);
    bench.subject.placement.size_mm = Gauge(obstacles, makeDesign("round", {}), {})
                                          .largest(Eigen::Quaterniond::Identity(), Vector3d::Zero())
                                          .size_mm;
    const double size_mm = bench.subject.placement.size_mm;
    DoubtRules rules = quiet(samples(600));
    rules.scan_mm = 0.02;
    const DoubtFigure figure = bench.doubt(rules);
    const double planned = weightOf("round", {}, size_mm);
    EXPECT_NEAR(figure.weight_ct.p50, planned, 0.2 * 3.0 * planned * 2.0 * 0.02 / size_mm);
    EXPECT_NEAR(figure.weight_ct.p95, planned, 1e-9);
    EXPECT_NEAR(figure.weight_ct.p5, weightOf("round", {}, size_mm * (1.0 - 1.645 * 0.02 / 3.0)),
                0.1 * 3.0 * planned * 1.645 * 0.02 / 3.0);
}

TEST(Doubt, OfADefectThatWasCutAway) {
    // A ball of 0.05 mm whose edge lies 0.02 mm outside the table of a stone that is otherwise far
    // away: it shows when it moves down by more, a share of 1 - Phi(1) = 0.1587 for 0.02 mm.
    Stone stone = cubeStone(6.0);
    const Design design = makeDesign("round", {});
    const double top = 6.5 * design.parts[0].facets.front().distance;
    Defect spot;
    spot.name = "spot";
    spot.kind = DefectKind::Crystal;
    // The surface that stands for it reaches a little further than the ball itself.
    const double reach = [&] {
        Defect ball;
        ball.shape = Ellipsoid{Vector3d::Zero(), Vector3d::Constant(0.05)};
        double low = 0.0;
        for (const Vector3d& v : defectSurface(ball).vertices)
            low = std::min(low, v.z());
        return -low;
    }();
    spot.shape = Ellipsoid{{0, 0, top + reach + 0.02}, Vector3d::Constant(0.05)};
    Defect kept = spot;
    kept.name = "kept";
    kept.shape = Ellipsoid{{0, 0, -0.5}, Vector3d::Constant(0.05)};
    kept.policy = DefectPolicy::MayStay;
    stone.defects = {spot, kept};
    const Bench bench(std::move(stone), 6.5);
    DoubtRules rules = quiet(samples(1000));
    rules.defect_mm = 0.02;
    const DoubtFigure figure = bench.doubt(rules);
    ASSERT_EQ(figure.defects.size(), 1u);
    EXPECT_EQ(figure.defects[0].name, "spot");
    EXPECT_FALSE(figure.defects[0].planned);
    EXPECT_NEAR(figure.defects[0].shows, 0.1587, 4.0 * std::sqrt(0.1587 * 0.8413 / rules.samples));
    EXPECT_THAT(figure.text, HasSubstr("spot still shows in 1"));
    double sum = 0.0;
    for (const double share : figure.grades)
        sum += share;
    EXPECT_NEAR(sum, 1.0, 1e-9);
    EXPECT_EQ(figure.grades[0], 0.0);
    // The two spots together are lower than one alone, which is what most samples show.
    EXPECT_EQ(figure.grade.p5, figure.grade.p50);
    EXPECT_LT(figure.grade.p50, figure.grade.p95);
    EXPECT_GT(figure.grades[static_cast<std::size_t>(figure.grade.p50)], 0.75);
}

TEST(Doubt, TellsTheChanceToFallBelowAStep) {
    // Planned at exactly 1.000 ct: half of the stones fall below 0.999 but for the rounding.
    Bench bench(cubeStone(6.0), 6.5);
    bench.subject.placement.size_mm = 6.5 * std::cbrt(1.0 / weightOf("round", {}, 6.5));
    const PriceTable prices = parsePrices(
        "shape,weight_from_ct,weight_to_ct,colour,clarity,price_per_ct,currency\n"
        "round,0.50,0.99,G,any,3000,EUR\nround,1.00,1.49,G,any,4500,EUR\n",
        "prices.csv");
    ValueQuery query;
    query.cut = "round";
    query.colour = "G";
    DoubtRules rules = quiet(samples(600));
    rules.angle_deg = 0.2;
    rules.length_mm = 0.02;
    const DoubtFigure figure = doubtOf(bench.subject, scale(), &prices, query, rules);
    ASSERT_TRUE(figure.step_ct);
    EXPECT_EQ(*figure.step_ct, 1.0);
    const double z = (0.999 - figure.weight_ct.mean) / figure.weight_ct.deviation;
    EXPECT_NEAR(figure.belowStep, 0.5 * std::erfc(-z / std::numbers::sqrt2), 0.04);
    ASSERT_TRUE(figure.value);
    EXPECT_LT(figure.value->p5, 3000.0);
    EXPECT_GT(figure.value->p95, 4500.0);
    EXPECT_EQ(figure.unpriced, 0.0);
    EXPECT_THAT(figure.text, HasSubstr("below 1.00 ct in"));
}

TEST(Doubt, IsTheSameAtAnyThreadCountAndAnotherForAnotherSeed) {
    Stone stone = cubeStone(3.26);
    Defect spot;
    spot.name = "spot";
    spot.shape = Ellipsoid{{0, 0, 0.9}, Vector3d::Constant(0.05)};
    stone.defects = {spot};
    const Bench bench(std::move(stone), 6.5);
    DoubtRules rules;
    rules.samples = 60;
    rules.threads = 1;
    const DoubtFigure one = bench.doubt(rules);
    rules.threads = 3;
    const DoubtFigure three = bench.doubt(rules);
    EXPECT_EQ(one.text, three.text);
    EXPECT_EQ(one.weight_ct.mean, three.weight_ct.mean);
    EXPECT_EQ(one.grades, three.grades);
    rules.seed = 2;
    EXPECT_NE(bench.doubt(rules).weight_ct.mean, one.weight_ct.mean);
}

TEST(Doubt, OfACutThatReachesOutOfTheRoughLeavesTheSkinOut) {
    Stone stone = cubeStone(3.2);
    const Bench bench(std::move(stone), 6.5);
    DoubtRules rules;
    rules.samples = 40;
    const DoubtFigure figure = bench.doubt(rules);
    EXPECT_LT(figure.weight_ct.p50, weightOf("round", {}, 6.5));
    bool told = false;
    for (const Reason& reason : figure.reasons)
        told = told || reason.what.find("reaches out of the rough") != std::string::npos;
    EXPECT_TRUE(told);
}

TEST(Doubt, RefusesAndStops) {
    const Bench bench(cubeStone(5.0), 6.5);
    DoubtRules rules = quiet(10);
    rules.scan_mm = -0.1;
    EXPECT_THROW(bench.doubt(rules), Error);
    rules = quiet(0);
    EXPECT_THROW(bench.doubt(rules), Error);
    rules = quiet(10);
    rules.angle_deg = std::nan("");
    EXPECT_THROW(bench.doubt(rules), Error);
    Progress cancelled;
    cancelled.cancel();
    EXPECT_THROW(bench.doubt(quiet(10), &cancelled), Error);
}
