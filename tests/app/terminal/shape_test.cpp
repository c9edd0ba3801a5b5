#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>

#include "core/stone/intake.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::AllOf;
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

TEST(Shape, EveryCutHasItsOwnProportionsAsOptions) {
    const auto list = macle({"shape", "--list", "--json"}).json();
    EXPECT_GE(list["cuts"].size(), 14u);
    for (const auto& cut : list["cuts"]) {
        std::vector<std::string> words = {"shape", cut["cut"], "--size", "5", "--json"};
        for (const auto& p : cut["proportions"]) {
            words.push_back("--" + p["option"].get<std::string>());
            words.push_back(p["standard"].dump());
        }
        const Outcome outcome = macle(words);
        ASSERT_EQ(outcome.status, 0) << outcome.error;
        const auto json = outcome.json();
        EXPECT_EQ(misfit(json, "shape"), "");
        for (const auto& p : cut["proportions"])
            EXPECT_EQ(json["proportions"][p["key"].get<std::string>()], p["standard"]);
        const auto standard = macle({"shape", cut["cut"], "--size", "5", "--json"}).json();
        EXPECT_EQ(json["volume_mm3"], standard["volume_mm3"]) << cut["cut"];
    }
    EXPECT_EQ(macle({"shape", "round", "--size", "5", "--cleft", "9"}).status, 2);
}

TEST(Shape, TheHeartHasTwoPartsThatShareFacets) {
    const auto json = macle({"shape", "heart", "--size", "6", "--json"}).json();
    EXPECT_EQ(misfit(json, "shape"), "");
    ASSERT_EQ(json["parts"].size(), 2u);
    std::set<std::string> all, named;
    for (const auto& part : json["parts"])
        for (const auto& facet : part["facets"])
            all.insert(facet["name"]);
    for (const auto& facet : json["facets"])
        EXPECT_TRUE(named.insert(facet["name"]).second) << facet["name"];
    EXPECT_EQ(all, named);
    EXPECT_GT(json["parts"][0]["facets"].size() + json["parts"][1]["facets"].size(),
              json["facets"].size());
}

TEST(Shape, TheHeartIsWrittenAsOneClosedSurface) {
    const Folder folder;
    for (const char* cleft : {"4", "9", "13"}) {
        const std::string file = folder / "heart.ply";
        const auto json =
            macle({"shape", "heart", "--size", "6.5", "--cleft", cleft, "--out", file, "--json"})
                .json();
        const Rough back = takeInFile(file);
        EXPECT_NEAR(back.volume_mm3, json["volume_mm3"].get<double>(), 1e-6) << cleft;
    }
}

TEST(Shape, MeasuresAPolishedStone) {
    const Folder folder;
    const std::string file = folder / "stone.ply";
    ASSERT_EQ(macle({"shape", "round", "--size", "6.5", "--crown", "34", "--out", file}).status, 0);
    const Outcome outcome =
        macle({"shape", "round", "--measure", file, "--noise", "0.001", "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "measured"), "");
    EXPECT_NEAR(json["measured"]["crown_deg"]["mean"].get<double>(), 34.0, 1e-3);
    EXPECT_NEAR(json["proportions"]["pavilion_deg"].get<double>(), 40.75, 1e-3);
    EXPECT_EQ(json["bands"].size(), 14u);
    EXPECT_THAT(macle({"shape", "--measure", file}).out, HasSubstr("not a grading report"));
    EXPECT_EQ(macle({"shape", "--measure", folder / "absent.stl"}).status, 1);
}

TEST(Shape, ChangesFacetsAndKeepsTheCut) {
    const Folder folder;
    std::ofstream(folder / "edits.json") << R"([
        {"tilt": "pavilion main", "row": true, "tilt_deg": -0.25, "hold_percent": -1.5},
        {"shift": "table", "shift_percent": -0.5}])";
    const std::string kept = folder / "works_round.json";
    const Outcome made = macle({"shape", "round", "--size", "6", "--table", "57", "--edits",
                                folder / "edits.json", "--save", kept, "--json"});
    ASSERT_EQ(made.status, 0) << made.error;
    std::ifstream stream(kept);
    EXPECT_EQ(misfit(nlohmann::json::parse(stream), "cut"), "");
    const auto again =
        macle({"shape", "works_round", "--size", "6", "--cuts", kept, "--json"}).json();
    EXPECT_EQ(again["volume_mm3"], made.json()["volume_mm3"]);
    EXPECT_EQ(again["cut"], "works_round");
    EXPECT_LT(again["volume_mm3"].get<double>(),
              macle({"shape", "round", "--size", "6", "--table", "57", "--json"})
                  .json()["volume_mm3"]
                  .get<double>());

    std::ofstream(folder / "bad.json") << R"([{"shift": "table"}, {"tilt": "star", "turns": 2}])";
    const Outcome bad = macle({"shape", "round", "--size", "6", "--edits", folder / "bad.json"});
    EXPECT_EQ(bad.status, 1);
    EXPECT_THAT(bad.error, AllOf(HasSubstr("bad.json"), HasSubstr("edit 2")));
    EXPECT_NE(macle({"shape", "round", "--size", "6", "--save", folder / "round.json"}).status, 0);
    EXPECT_FALSE(std::filesystem::exists(folder / "round.json"));
}

TEST(Shape, TakesCutsOfTheWorks) {
    const Folder folder;
    std::ofstream(folder / "low.json") << R"({"cut": "low_oval", "title": "Low oval",
        "based_on": "oval", "standards": {"crown_deg": 28},
        "edits": [{"shift": "table", "shift_percent": -0.5}]})";
    const Outcome byOption =
        macle({"shape", "low_oval", "--size", "6", "--json", "--cuts", folder / "low.json"});
    ASSERT_EQ(byOption.status, 0) << byOption.error;
    EXPECT_EQ(byOption.json()["proportions"]["crown_deg"], 28.0);
    Call byFolder;
    byFolder.arguments = {"shape", "low_oval", "--size", "6", "--json"};
    byFolder.environment = {{"MACLE_CUTS", folder / ""}};
    EXPECT_EQ(macle(byFolder).out, byOption.out);
    EXPECT_EQ(macle({"shape", "low_oval", "--size", "6"}).status, 2);

    std::ofstream(folder / "bad.json") << R"({"cut": "bad", "title": "Bad",
        "based_on": "oval", "edits": [{"tilt": "pavilion mian", "tilt_deg": 1}]})";
    const Outcome bad = macle({"shape", "round", "--size", "6", "--cuts=" + (folder / "bad.json")});
    EXPECT_EQ(bad.status, 1);
    EXPECT_THAT(bad.error, AllOf(HasSubstr("bad.json"), HasSubstr("pavilion mian")));
    EXPECT_EQ(macle({"shape", "--list", "--cuts", folder / "absent"}).status, 1);
}

TEST(Shape, TheCutFilesFitTheirSchema) {
    int count = 0;
    for (const auto& item : std::filesystem::directory_iterator(MACLE_CUT_FILES)) {
        std::ifstream stream(item.path());
        EXPECT_EQ(misfit(nlohmann::json::parse(stream), "cut"), "") << item.path();
        ++count;
    }
    EXPECT_EQ(count, 14);
    EXPECT_NE(misfit(nlohmann::json::parse(R"({"cut": "x", "title": "X",
                     "rules": [{"facet": "table", "hight": 1}]})"),
                     "cut"),
              "");
}

TEST(Shape, ListsTheCuts) {
    const Outcome outcome = macle({"shape", "--list", "--json"});
    ASSERT_EQ(outcome.status, 0);
    EXPECT_EQ(misfit(outcome.json(), "cuts"), "");
    EXPECT_THAT(macle({"shape", "--list"}).out, HasSubstr("--pavilion"));
}

}  // namespace
}  // namespace macle::test
