#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "core/stone/intake.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

TEST(Shape, GivesTheRoundWithEveryFacet) {
    const Outcome outcome = macle({"shape", "round", "--size", "6.5", "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "shape"), "");
    EXPECT_EQ(json["cut"], "round");
    EXPECT_EQ(json["size_mm"], 6.5);
    EXPECT_FALSE(json.contains("parts"));
    int mains = 0, flats = 0;
    for (const auto& facet : json["facets"]) {
        const std::string name = facet["name"];
        const double nz = facet["normal"][2];
        EXPECT_NEAR(std::cos(facet["angle_deg"].get<double>() * M_PI / 180.0), std::abs(nz), 1e-12)
            << name;
        if (name.starts_with("pavilion main")) {
            ++mains;
            EXPECT_NEAR(facet["angle_deg"].get<double>(), 40.75, 1e-9);
        }
        if (name.starts_with("girdle")) ++flats;
    }
    EXPECT_EQ(mains, 8);
    EXPECT_EQ(flats, 64);
    EXPECT_EQ(json["facets"].size(), 57u + 64u);
}

TEST(Shape, WeightGrowsWithTheCubeOfTheSize) {
    const auto one = macle({"shape", "round", "--size", "1", "--json"}).json();
    const auto ten = macle({"shape", "round", "--size", "10", "--json"}).json();
    EXPECT_NEAR(ten["volume_mm3"].get<double>() / one["volume_mm3"].get<double>(), 1000.0, 1e-9);
    EXPECT_NEAR(ten["weight_ct"].get<double>(), ten["volume_mm3"].get<double>() * 3.515 / 200.0,
                0.01);
}

TEST(Shape, TakesTheProportionsItIsGiven) {
    const auto json = macle({"shape", "round", "--size", "1", "--json", "--crown", "33", "--table",
                             "58.5", "--pavilion=41"})
                          .json();
    EXPECT_EQ(json["proportions"]["crown_deg"], 33.0);
    EXPECT_EQ(json["proportions"]["table_percent"], 58.5);
    for (const auto& facet : json["facets"])
        if (facet["name"].get<std::string>().starts_with("crown main")) {
            EXPECT_NEAR(facet["angle_deg"].get<double>(), 33.0, 1e-9);
        }
    const Outcome bad = macle({"shape", "round", "--size", "1", "--crown", "89"});
    EXPECT_EQ(bad.status, 2);
    EXPECT_THAT(bad.error, HasSubstr("crown"));
    EXPECT_EQ(macle({"shape", "round", "--size", "0"}).status, 2);
    EXPECT_EQ(macle({"shape", "round", "--size", "six"}).status, 2);
}

TEST(Shape, WritesASolidThatWeighsTheSame) {
    const Folder folder;
    for (const char* name : {"round.stl", "round.ply", "round.obj"}) {
        const std::string file = folder / name;
        const auto json =
            macle({"shape", "round", "--size", "6.5", "--out", file, "--json"}).json();
        const Rough back = takeInFile(file);
        const double volume = json["volume_mm3"];
        // STL stores single precision.
        EXPECT_NEAR(back.volume_mm3, volume, volume * 1e-5) << name;
    }
    EXPECT_EQ(macle({"shape", "round", "--size", "6.5", "--out", folder / "round.xyz"}).status, 2);
}

TEST(Shape, ListsTheCuts) {
    const Outcome outcome = macle({"shape", "--list", "--json"});
    ASSERT_EQ(outcome.status, 0);
    EXPECT_EQ(misfit(outcome.json(), "cuts"), "");
    EXPECT_THAT(macle({"shape", "--list"}).out, HasSubstr("--pavilion"));
}

}  // namespace
}  // namespace macle::test
