// macle divide --stones and --count: several stones at once.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

std::string octahedron() {
    return std::string(MACLE_SAMPLES) + "/octahedron.obj";
}

TEST(DivideIntoStones, PrintsAndWritesLayoutsThatCompareTakes) {
    const Folder folder;
    const std::string list = folder / "layouts.json";
    const std::vector<std::string> words = {
        "divide",      octahedron(), "--stones", "round,princess", "--kerf", "0.1",
        "--exit",      "0.03",       "--poses",  "5000",           "--out",  list,
        "--different", "3",          "--json"};
    const Outcome outcome = macle(words);
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "divide_stones"), "");
    ASSERT_GE(json["layouts"].size(), 2u);
    double before = 1e9;
    for (const auto& layout : json["layouts"]) {
        double stones = 0.0;
        for (const auto& stone : layout["stones"])
            stones += stone["weight_ct"].get<double>();
        EXPECT_NEAR(stones, layout["weight_ct"].get<double>(), 1e-9);
        EXPECT_NEAR(stones + layout["kerf_ct"].get<double>() + layout["outside_ct"].get<double>(),
                    json["rough_ct"].get<double>(), 1e-9 * json["rough_ct"].get<double>());
        EXPECT_GE(layout["apart_mm"].get<double>(), 0.03);
        EXPECT_LE(stones, before);
        before = stones;
        EXPECT_TRUE(layout["saws"][0].contains("beam"));
    }
    // The same but for the seconds.
    auto again = macle(words).json();
    again["seconds"] = json["seconds"];
    EXPECT_EQ(again, json);

    const Outcome compared =
        macle({"compare", octahedron(), "--layouts", list, "--unlit", "--untraced", "--json"});
    ASSERT_EQ(compared.status, 0) << compared.error;
    const auto table = compared.json();
    EXPECT_EQ(misfit(table, "compare"), "");
    EXPECT_EQ(table["layouts"].size(), json["layouts"].size());
    EXPECT_EQ(table["rows"][0]["title"], "Weight");
    for (std::size_t i = 0; i < json["layouts"].size(); ++i)
        EXPECT_NEAR(table["rows"][0]["cells"][i]["value"].get<double>(),
                    json["layouts"][i]["weight_ct"].get<double>(), 1e-9);
}

TEST(DivideIntoStones, SeeksValueAmongCuts) {
    const Outcome outcome =
        macle({"divide", octahedron(), "--count", "2", "--among", "round,emerald", "--seek",
               "value", "--prices", std::string(MACLE_CUT_FILES) + "/../prices/invented_demo.csv",
               "--colour", "G", "--poses", "2500"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    EXPECT_THAT(outcome.out, HasSubstr("Division 1"));
    EXPECT_THAT(outcome.out, HasSubstr("planning estimates"));
    EXPECT_THAT(outcome.out, HasSubstr("trained"));
}

TEST(DivideIntoStones, RefusesWhatDoesNotGoTogether) {
    const auto told = [](const std::vector<std::string>& more) {
        std::vector<std::string> words = {"divide", octahedron()};
        words.insert(words.end(), more.begin(), more.end());
        const Outcome outcome = macle(words);
        EXPECT_EQ(outcome.status, 2) << outcome.error;
        EXPECT_EQ(outcome.out, "");
        return outcome.error;
    };
    EXPECT_THAT(told({"--stones", "round"}), HasSubstr("only one stone"));
    EXPECT_THAT(told({"--stones", "round,ruond"}), HasSubstr("\"round\""));
    EXPECT_THAT(told({"--stones", ","}), HasSubstr("cut"));
    EXPECT_THAT(told({"--stones", "round,round", "--count", "2"}), HasSubstr("already names"));
    EXPECT_THAT(told({"--among", "round"}), HasSubstr("without --count"));
    EXPECT_THAT(told({"--count", "1"}), HasSubstr("--count"));
    EXPECT_THAT(told({"--count", "2", "--second", "round"}), HasSubstr("--second"));
    EXPECT_THAT(told({"--count", "2", "--exit", "0.1"}), HasSubstr("narrows"));
    EXPECT_THAT(told({"--count", "2", "--mechanical"}), HasSubstr("axes"));
    EXPECT_THAT(told({"--count", "2", "--seek", "light"}), HasSubstr("--seek"));
    EXPECT_THAT(told({"--count", "2", "--seek", "value"}), HasSubstr("price table"));
    EXPECT_THAT(told({"--second", "round", "--fewer"}), HasSubstr("--fewer"));
}

}  // namespace
}  // namespace macle::test
