#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

TEST(Interrupt, EndsALongFitAndKeepsTheBestSoFar) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0, 4), layout = folder / "layout.json";
    const Outcome outcome = macle(Call{{"fit", stone, "--cut", "round", "--seconds", "600",
                                        "--progress", "--json", "--out", layout},
                                       {},
                                       "best so far",
                                       {}});
    EXPECT_EQ(outcome.status, 1);
    EXPECT_THAT(outcome.error, HasSubstr("stopped"));
    EXPECT_THAT(outcome.error, HasSubstr("best placement so far"));
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "fit"), "");
    EXPECT_EQ(json["stopped"], true);
    const auto finish = macle({"finish", stone, "--placement", layout, "--json"}).json();
    EXPECT_NEAR(finish["weight_ct"].get<double>(), json["weight_ct"].get<double>(), 1e-6);
    RecordProperty("milliseconds_until_the_end",
                   std::to_string(outcome.afterSignal.count() * 1000.0));
}

TEST(Interrupt, EndsALookForASecondStone) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0, 4), first = folder / "first.json";
    ASSERT_EQ(macle({"fit", stone, "--cut", "round", "--poses", "300", "--out", first}).status, 0);
    const Outcome outcome = macle(Call{{"divide", stone, "--placement", first, "--second", "round",
                                        "--seconds", "600", "--progress"},
                                       {},
                                       "Looking for a second stone",
                                       {}});
    EXPECT_EQ(outcome.status, 1);
    EXPECT_EQ(outcome.out, "");
    EXPECT_LT(outcome.afterSignal.count(), 5.0);  // of 600
}

TEST(Interrupt, EndsALookForSeveralStonesAndKeepsTheBestSoFar) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0, 4), list = folder / "layouts.json";
    const Outcome outcome = macle(Call{{"divide", stone, "--stones", "round,round", "--seconds",
                                        "600", "--progress", "--json", "--out", list},
                                       {},
                                       "best so far",
                                       {}});
    EXPECT_EQ(outcome.status, 1);
    EXPECT_THAT(outcome.error, HasSubstr("best division so far"));
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "divide_stones"), "");
    EXPECT_EQ(json["stopped"], true);
    EXPECT_EQ(json["layouts"][0]["stones"].size(), 2u);
    EXPECT_TRUE(std::filesystem::exists(list));
    EXPECT_LT(outcome.afterSignal.count(), 5.0);  // of 600
}

TEST(Interrupt, OfASheetWritesNone) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0, 4), sheet = folder / "sheet.pdf";
    const Outcome outcome = macle(
        Call{{"sheet", stone, "--cut", "round", "--seconds", "600", "--progress", "--out", sheet},
             {},
             "best so far",
             {}});
    EXPECT_EQ(outcome.status, 1);
    EXPECT_FALSE(std::filesystem::exists(sheet));
}

}  // namespace
}  // namespace macle::test
