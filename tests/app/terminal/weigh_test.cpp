#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "core/archive/stone_file.h"
#include "core/base/numbers.h"
#include "core/stone/sample.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

// Regular octahedron: volume sqrt(2)/3 a^3; density of diamond 3.515 g/cm3 gives the weight.
double octahedron_mm3(double edge) {
    return std::sqrt(2.0) / 3.0 * edge * edge * edge;
}

TEST(Weigh, GivesTheVolumeOfAnOctahedronInClosedForm) {
    const Folder folder;
    const Outcome outcome = macle({"weigh", octahedronFile(folder, 5.0), "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "weigh"), "");
    EXPECT_EQ(json["triangles"], 128);
    EXPECT_EQ(json["closed"], true);
    EXPECT_NEAR(json["volume_mm3"].get<double>(), octahedron_mm3(5.0), 1e-9);
    EXPECT_NEAR(json["weight_ct"].get<double>(), octahedron_mm3(5.0) * 3.515 / 200.0, 1e-3);
    for (const auto& extent : json["extent_mm"])
        EXPECT_NEAR(extent.get<double>(), 5.0 * std::sqrt(2.0), 1e-12);
    EXPECT_FALSE(json.contains("scale"));
}

TEST(Weigh, ComparesTheScanWithTheScale) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0);
    const double weight = macle({"weigh", stone, "--json"}).json()["weight_ct"];
    const auto with = [&](double share) {
        const auto json =
            macle({"weigh", stone, "--json", "--scale", formatExact(weight * share)}).json();
        EXPECT_EQ(misfit(json, "weigh"), "");
        return json["scale"];
    };
    EXPECT_EQ(with(1.0)["flagged"], false);
    EXPECT_NEAR(with(1.0)["difference_percent"].get<double>(), 0.0, 1e-9);
    const auto heavy = with(1.05);
    EXPECT_EQ(heavy["flagged"], true);
    EXPECT_NEAR(heavy["difference_percent"].get<double>(), 100.0 * (1.0 / 1.05 - 1.0), 1e-9);
    EXPECT_THAT(macle({"weigh", stone, "--scale", "9"}).out, HasSubstr("CHECK"));
}

TEST(Weigh, EveryVerbFollowsTheScaleWhenTheStoneTrustsIt) {
    const Folder folder;
    StoneFile content;
    content.stone = octahedronStone(5.0, 2);
    const double scan = scanWeight_ct(content.stone);
    content.stone.scale_ct = 0.99 * scan;
    content.layouts.emplace_back();
    content.layouts[0].main().placement.size_mm = 2.0;
    const auto figures = [&](TrustedWeight trusted) {
        content.stone.trusted = trusted;
        const std::string file = folder / "stone.macle";
        saveStoneFile(content, file);
        std::vector<nlohmann::json> all;
        for (const auto& [verb, words] :
             std::vector<std::pair<std::string, std::vector<std::string>>>{
                 {"weigh", {file}},
                 {"finish", {file}},
                 {"sheet", {file, "--out", folder / "sheet.pdf"}},
                 {"fit", {file, "--cut", "round", "--poses", "500", "--explain", "1"}}}) {
            std::vector<std::string> call = {verb};
            call.insert(call.end(), words.begin(), words.end());
            call.push_back("--json");
            const Outcome outcome = macle(Call{call, {}, {}, {}});
            EXPECT_EQ(outcome.status, 0) << outcome.error;
            EXPECT_EQ(misfit(outcome.json(), verb), "");
            all.push_back(outcome.json());
        }
        return all;
    };
    const auto byScan = figures(TrustedWeight::Scan), byScale = figures(TrustedWeight::Scale);
    for (std::size_t i = 0; i < byScan.size(); ++i) {
        EXPECT_EQ(byScan[i]["weight_factor"], 1.0);
        EXPECT_NEAR(byScale[i]["weight_factor"].get<double>(), 0.99, 1e-12);
    }
    EXPECT_EQ(byScan[0]["weight_ct"], byScale[0]["weight_ct"]) << "weigh tells the scan's weight";
    EXPECT_NEAR(byScale[0]["trusted_ct"].get<double>(), 0.99 * scan, 1e-12);
    for (std::size_t i = 1; i < byScan.size(); ++i)
        EXPECT_NEAR(byScale[i]["weight_ct"].get<double>(),
                    0.99 * byScan[i]["weight_ct"].get<double>(), 1e-12);
    for (const std::size_t i : {2u, 3u}) {
        EXPECT_NEAR(byScale[i]["recovery_percent"].get<double>(),
                    byScan[i]["recovery_percent"].get<double>(), 1e-9);
        EXPECT_NEAR(byScale[i]["loss_ct"].get<double>(), 0.99 * byScan[i]["loss_ct"].get<double>(),
                    1e-12);
    }
    EXPECT_THAT(macle({"weigh", folder / "stone.macle"}).out,
                HasSubstr("Weights scaled to the scale weight"));
}

TEST(Sheet, TellsWhetherTheLayoutIsApproved) {
    const Folder folder;
    StoneFile content;
    content.stone = octahedronStone(5.0, 2);
    content.layouts.emplace_back();
    content.layouts[0].main().placement.size_mm = 2.0;
    content.layouts.push_back(content.layouts[0]);
    content.layouts[1].name = "Layout 2";
    content.layouts[1].main().placement.size_mm = 1.5;
    content.approvals = {approve(content.stone, content.layouts[1], "A. Planner", "", {}),
                         approve(content.stone, content.layouts[0], "B. Planner", "", {})};
    const std::string file = folder / "stone.macle";
    saveStoneFile(content, file);
    const auto state = [&](const std::vector<std::string>& more) {
        std::vector<std::string> call = {"sheet", file, "--out", folder / "s.pdf", "--json"};
        call.insert(call.end(), more.begin(), more.end());
        const auto json = macle(Call{call, {}, {}, {}}).json();
        EXPECT_EQ(misfit(json, "sheet"), "");
        return json["state"].get<std::string>();
    };
    EXPECT_EQ(state({}), "approved");
    EXPECT_EQ(state({"--name", "for the bench"}), "approved") << "a title changes nothing";
    EXPECT_EQ(state({"--layout", "Layout 2"}), "replaced");
    EXPECT_EQ(state({"--table", "57"}), "draft");
}

TEST(Weigh, SaysTheSameInWords) {
    const Folder folder;
    const Outcome outcome = macle({"weigh", octahedronFile(folder, 5.0)});
    EXPECT_EQ(outcome.status, 0);
    EXPECT_THAT(outcome.out, HasSubstr(formatFixed(octahedron_mm3(5.0), 3) + " mm3"));
    EXPECT_THAT(outcome.out, HasSubstr("7.071 x 7.071 x 7.071 mm"));
}

TEST(Weigh, UsesADecimalPointInEveryLanguage) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0);
    const Outcome plain = macle({"weigh", stone, "--json"});
    // Takes effect where the language is installed; must do no harm where it is not.
    const Outcome comma = macle(Call{
        {"weigh", stone, "--json"}, {{"LC_ALL", "de_DE.UTF-8"}, {"LANG", "de_DE.UTF-8"}}, {}, {}});
    EXPECT_EQ(plain.out, comma.out);
}

TEST(Demo, WritesAStoneThatWeighsWhatItSays) {
    const Folder folder;
    const std::string file = folder / "sample.macle";
    const Outcome made = macle({"demo", "--out", file, "--json"});
    ASSERT_EQ(made.status, 0) << made.error;
    EXPECT_EQ(misfit(made.json(), "demo"), "");
    const auto weighed = macle({"weigh", file, "--json"}).json();
    EXPECT_EQ(misfit(weighed, "weigh"), "");
    EXPECT_EQ(weighed["weight_ct"], made.json()["weight_ct"]);
    EXPECT_NEAR(weighed["weight_ct"].get<double>(), 19.0, 2.0);
    EXPECT_GT(made.json()["defects"].get<int>(), 2);
    EXPECT_EQ(macle({"demo", "--out", folder / "sample.stl"}).status, 2);
}

}  // namespace
}  // namespace macle::test
