#include "core/cut/library.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <set>

#include "core/base/error.h"
#include "core/cut/round_brilliant.h"

using namespace macle;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

namespace {

// The text of the Error thrown, after checking its code.
template <class Action>
std::string refusal(ErrorCode code, Action action) {
    try {
        action();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), code) << error.what();
        EXPECT_FALSE(error.remedy().empty());
        return error.what();
    }
    ADD_FAILURE() << "nothing was refused";
    return "";
}

Facet facetWithNormal(double x, double y, double z) {
    return {"other", FacetKind::Other, Eigen::Vector3d(x, y, z).normalized(), 1.0};
}

}  // namespace

TEST(Library, OffersTheRoundBrilliantWithSevenProportions) {
    const CutInfo& round = findCut("round");
    EXPECT_EQ(round.title, "Round brilliant");
    std::vector<std::string> options;
    for (const ProportionInfo& info : round.proportions)
        options.push_back(info.option);
    EXPECT_THAT(options,
                ElementsAre("table", "crown", "pavilion", "girdle", "star", "lower", "culet"));
}

TEST(Library, EveryCutHasUniqueKeysAndAStandardWithinItsRange) {
    for (const CutInfo& cut : cutLibrary()) {
        std::set<std::string> keys;
        std::set<std::string> options;
        for (const ProportionInfo& info : cut.proportions) {
            EXPECT_TRUE(keys.insert(info.key).second) << info.key;
            EXPECT_TRUE(options.insert(info.option).second) << info.option;
            EXPECT_LT(info.low, info.high) << info.key;
            EXPECT_GE(info.standard, info.low) << info.key;
            EXPECT_LE(info.standard, info.high) << info.key;
            EXPECT_TRUE(info.unit == "%" || info.unit == "deg") << info.unit;
        }
    }
}

TEST(Library, AnUnknownCutIsNotFoundAndTheAnswerNamesThoseThatExist) {
    const std::string text = refusal(ErrorCode::NotFound, [] { findCut("rouund"); });
    EXPECT_THAT(text, HasSubstr("rouund"));
    EXPECT_THAT(text, HasSubstr("round, single"));
    refusal(ErrorCode::NotFound, [] { makeDesign("", {}); });
}

TEST(Library, MissingProportionsTakeTheirStandardAndAllAreRecorded) {
    const Design design = makeDesign("round", {{"table_percent", 60.0}});
    const RoundProportions standard;
    EXPECT_EQ(design.cut, "round");
    EXPECT_EQ(design.proportions.size(), 7u);
    EXPECT_EQ(design.proportions.at("table_percent"), 60.0);
    EXPECT_EQ(design.proportions.at("crown_deg"), standard.crown_deg);
    EXPECT_EQ(design.proportions.at("lower_half_percent"), standard.lower_half_percent);
}

TEST(Library, ByNameAndByRecordAreTheSameDesign) {
    RoundProportions p;
    p.table_percent = 58.0;
    p.culet_percent = 0.7;
    const Design record = roundBrilliant(p);
    const Design named = makeDesign("round", record.proportions);
    ASSERT_EQ(named.parts.front().facets.size(), record.parts.front().facets.size());
    for (std::size_t k = 0; k < record.parts.front().facets.size(); ++k) {
        EXPECT_EQ(named.parts.front().facets[k].normal, record.parts.front().facets[k].normal);
        EXPECT_EQ(named.parts.front().facets[k].distance, record.parts.front().facets[k].distance);
    }
}

TEST(Library, AnUnknownProportionIsRefusedByName) {
    const std::string text = refusal(ErrorCode::BadUsage, [] {
        makeDesign("round", {{"tabel_percent", 56.0}});
    });
    EXPECT_THAT(text, HasSubstr("tabel_percent"));
    EXPECT_THAT(text, HasSubstr("table_percent"));
}

TEST(Library, EveryProportionBeyondEitherEndOfItsRangeIsRefusedWithKeyValueAndRange) {
    for (const CutInfo& cut : cutLibrary())
        for (const ProportionInfo& info : cut.proportions)
            for (const double value :
                 {info.low - 0.25, info.high + 0.25, std::numeric_limits<double>::quiet_NaN(),
                  std::numeric_limits<double>::infinity(), -1e300}) {
                const std::string text = refusal(ErrorCode::BadUsage, [&] {
                    makeDesign(cut.name, {{info.key, value}});
                });
                EXPECT_THAT(text, HasSubstr(info.key));
                EXPECT_THAT(text, HasSubstr("outside"));
            }
    RoundProportions p;
    p.crown_deg = 75.5;
    const std::string text = refusal(ErrorCode::BadUsage, [&] { roundBrilliant(p); });
    EXPECT_THAT(text, HasSubstr("75.5"));
    EXPECT_THAT(text, HasSubstr("5 to 60 deg"));
}

TEST(Facets, AngleAndAzimuthFollowTheCutFrame) {
    EXPECT_DOUBLE_EQ(facetAngle_deg(facetWithNormal(0, 0, 1)), 0.0);
    EXPECT_DOUBLE_EQ(facetAngle_deg(facetWithNormal(0, 0, -1)), 0.0);
    EXPECT_DOUBLE_EQ(facetAngle_deg(facetWithNormal(0, 1, 0)), 90.0);
    EXPECT_DOUBLE_EQ(facetAngle_deg(facetWithNormal(1, 0, 1)), 45.0);
    EXPECT_DOUBLE_EQ(facetAngle_deg(facetWithNormal(1, 0, -1)), 45.0);

    EXPECT_DOUBLE_EQ(facetAzimuth_deg(facetWithNormal(0, 0, -1)), 0.0);
    EXPECT_DOUBLE_EQ(facetAzimuth_deg(facetWithNormal(1, 0, 1)), 0.0);
    EXPECT_DOUBLE_EQ(facetAzimuth_deg(facetWithNormal(0, 1, 1)), 90.0);
    EXPECT_DOUBLE_EQ(facetAzimuth_deg(facetWithNormal(-1, 0, 1)), 180.0);
    EXPECT_DOUBLE_EQ(facetAzimuth_deg(facetWithNormal(0, -1, 1)), 270.0);
    EXPECT_EQ(facetAzimuth_deg(facetWithNormal(1, -1e-18, 1)), 0.0);  // never 360
}
