// Value by the user's table, weight rounding and size steps.
#include "core/appraise/value.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/base/error.h"

using namespace macle;
using ::testing::HasSubstr;

namespace {

PriceTable steps() {
    return parsePrices(
        "shape,weight_from_ct,weight_to_ct,colour,clarity,price_per_ct,currency\n"
        "round,0.90,0.99,G,VS,3000,EUR\n"
        "round,1.00,1.49,G,VS1,4500,EUR\n"
        "round,1.00,1.49,G,VS2,4000,EUR\n"
        "round,1.00,1.49,G,SI,2800,EUR\n"
        "round,1.50,1.99,G,VS1,5500,EUR\n"
        "any,1.00,1.99,G,any,1000,EUR\n"
        "factor,grade,times\n"
        "fluorescence,strong,0.9\n"
        "cut,1,1.1\n",
        "prices.csv");
}

ValueQuery roundOf(double weight_ct, const std::string& clarity = "VS1") {
    ValueQuery query;
    query.cut = "round";
    query.weight_ct = weight_ct;
    query.colour = "G";
    query.clarity = clarity;
    return query;
}

}  // namespace

TEST(WeightRounding, RoundsUpOnlyAtNine) {
    // 0.999 is 1.00 and 0.998 is 0.99 (CIBJO Diamond Book, from memory).
    const auto up = WeightRounding::UpAtNine;
    EXPECT_EQ(roundedHundredths(0.999, up), 100);
    EXPECT_EQ(roundedHundredths(0.998, up), 99);
    EXPECT_EQ(roundedHundredths(0.9989, up), 99);
    EXPECT_EQ(roundedHundredths(1.0, up), 100);
    EXPECT_EQ(roundedHundredths(1.499, up), 150);
    EXPECT_EQ(roundedHundredths(0.29, up), 29);  // 0.29 * 1000 falls below 290 in binary
    EXPECT_EQ(roundedHundredths(0.999, WeightRounding::Down), 99);
    EXPECT_EQ(roundedHundredths(0.995, WeightRounding::Nearest), 100);
    EXPECT_EQ(roundedHundredths(0.9949, WeightRounding::Nearest), 99);
    for (const auto rounding : {up, WeightRounding::Down, WeightRounding::Nearest}) {
        for (int hundredths = 1; hundredths < 2000; ++hundredths) {
            const double least = leastWeight_ct(hundredths, rounding);
            EXPECT_EQ(roundedHundredths(least, rounding), hundredths);
            EXPECT_EQ(roundedHundredths(least - 1e-6, rounding), hundredths - 1);
        }
        EXPECT_EQ(roundingFromName(roundingName(rounding)), rounding);
    }
    EXPECT_THROW(roundingFromName("up"), Error);
}

TEST(Value, IsWeightTimesPriceTimesFactors) {
    ValueQuery query = roundOf(1.0234);
    EXPECT_DOUBLE_EQ(valueOf(steps(), query).value.value(), 1.02 * 4500.0);
    query.fluorescence = FluorescenceStrength::Strong;
    query.cutBand = 1;
    const ValueFigure figure = valueOf(steps(), query);
    EXPECT_DOUBLE_EQ(figure.value.value(), 1.02 * 4500.0 * 0.9 * 1.1);
    EXPECT_DOUBLE_EQ(figure.factor, 0.9 * 1.1);
    EXPECT_EQ(figure.priced_ct, 1.02);
    EXPECT_EQ(figure.bandFrom_ct, 1.0);
    EXPECT_TRUE(figure.missing.empty());
    EXPECT_EQ(valueAlone(steps(), query), figure.value);
    std::string account;
    for (const Reason& reason : figure.reasons)
        account += reasonText(reason) + "\n";
    EXPECT_THAT(account, HasSubstr("Weight: 1.023 ct"));
    EXPECT_THAT(account, HasSubstr("(line 3 of prices.csv): 4500 EUR/ct"));
    EXPECT_THAT(account, HasSubstr("Factor for fluorescence (strong): 0.900"));
    EXPECT_THAT(account, HasSubstr("Factor for the band of proportions (1): 1.100"));
    // A grade without a factor changes nothing and says so.
    query.fluorescence = FluorescenceStrength::Medium;
    EXPECT_DOUBLE_EQ(valueOf(steps(), query).factor, 1.1);
}

TEST(Value, AShapeOfItsOwnGoesBeforeAny) {
    ValueQuery query = roundOf(1.2);
    query.cut = "oval";
    EXPECT_DOUBLE_EQ(valueOf(steps(), query).value.value(), 1200.0);
    query.cut = "round";
    EXPECT_DOUBLE_EQ(valueOf(steps(), query).value.value(), 1.2 * 4500.0);
}

TEST(Value, AGroupTakesItsOwnRowOrElseItsLowerGrade) {
    EXPECT_DOUBLE_EQ(valueOf(steps(), roundOf(0.95, "VS")).price_per_ct.value(), 3000.0);
    EXPECT_DOUBLE_EQ(valueOf(steps(), roundOf(0.95, "VS2")).price_per_ct.value(), 3000.0);
    // Its lower grade in the cut's own shape goes before a row of any shape that has it whole.
    const ValueFigure group = valueOf(steps(), roundOf(1.2, "VS"));
    EXPECT_DOUBLE_EQ(group.price_per_ct.value(), 4000.0);
    EXPECT_THAT(reasonText(group.reasons[3]), HasSubstr("its lower grade is taken"));
    EXPECT_DOUBLE_EQ(valueOf(steps(), roundOf(1.7, "VS")).price_per_ct.value(), 1000.0);
}

TEST(Value, TellsTheNextSize) {
    const ValueFigure figure = valueOf(steps(), roundOf(1.469));
    ASSERT_TRUE(figure.next);
    EXPECT_EQ(figure.next->from_ct, 1.5);
    EXPECT_NEAR(figure.next->short_ct, 0.03, 1e-12);  // 1.499 is sold as 1.50
    EXPECT_DOUBLE_EQ(figure.next->value, 1.5 * 5500.0);
    EXPECT_DOUBLE_EQ(figure.next->gain, 1.5 * 5500.0 - 1.47 * 4500.0);
    EXPECT_EQ(figure.next->text, "0.030 ct short of 1.50 ct, which would be worth 1635 EUR more");
    ValueQuery down = roundOf(1.469);
    down.rounding = WeightRounding::Down;
    EXPECT_NEAR(valueOf(steps(), down).next->short_ct, 0.031, 1e-12);
    EXPECT_FALSE(valueOf(steps(), roundOf(1.7)).next);
    EXPECT_FALSE(valueOf(steps(), roundOf(1.2, "SI1")).next) << "any shape is cheaper, not dearer";
}

TEST(Value, TwoStonesThatReachTheirStepsAreWorthMoreThanTwoThatDoNot) {
    // 1.02 + 1.51 ct preferred to 1.08 + 1.45 ct from one crystal (published example of price
    // steps at 1.00 and 1.50 ct), though both pairs weigh 2.53 ct.
    const auto worth = [](double a, double b) {
        return valueAlone(steps(), roundOf(a)).value() + valueAlone(steps(), roundOf(b)).value();
    };
    EXPECT_GT(worth(1.02, 1.51), worth(1.08, 1.45));
}

TEST(Value, SaysWhatIsMissing) {
    const auto missing = [](ValueQuery query) {
        const ValueFigure figure = valueOf(steps(), query);
        EXPECT_FALSE(figure.value);
        EXPECT_FALSE(valueAlone(steps(), query));
        return figure.missing;
    };
    ValueQuery query = roundOf(1.2);
    query.colour = "";
    EXPECT_THAT(missing(query), HasSubstr("No colour letter"));
    query = roundOf(1.2, "");
    EXPECT_THAT(missing(query), HasSubstr("No clarity"));
    query = roundOf(0.5);
    EXPECT_THAT(missing(query), HasSubstr("no row for round of 0.50 ct"));
    query = roundOf(1.2);
    query.colour = "M";
    EXPECT_THAT(missing(query), HasSubstr("in colour M"));
    EXPECT_THAT(missing(roundOf(1.7, "nonsense")), HasSubstr("No clarity"));
    EXPECT_THAT(missing(roundOf(0.95, "SI1")), HasSubstr("clarity SI1"));
    query = roundOf(0.95);
    query.cut = "oval";
    EXPECT_THAT(missing(query), HasSubstr("no row for oval of 0.95 ct"));
    EXPECT_THAT(valueOf({}, roundOf(1.0)).missing, HasSubstr("no prices"));
}
