// macle compare: layouts side by side.
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

std::string layout(const std::string& name, double size_mm, const std::string& cut = "round") {
    return R"({"name": ")" + name + R"(", "cut": ")" + cut +
           R"(", "proportions": {}, "allowance_mm": 0, "placement": {"quaternion_wxyz": [1, 0, 0, 0],)" +
           R"("translation_mm": [0, 0, 0], "size_mm": )" + std::to_string(size_mm) + "}}";
}

TEST(Compare, ShowsDifferencesAndTheBest) {
    const Folder folder;
    const std::string list = folder / "layouts.json";
    std::ofstream(list) << R"({"layouts": [)" << layout("small", 1.0) << "," << layout("large", 1.5)
                        << "," << layout("step", 0.9, "emerald") << "]}";
    const std::vector<std::string> words = {"compare", octahedron(), "--layouts", list,
                                            "--unlit", "--untraced", "--against", "large"};
    const Outcome shown = macle(words);
    ASSERT_EQ(shown.status, 0) << shown.error;
    EXPECT_THAT(shown.out, HasSubstr("large"));
    EXPECT_THAT(shown.out, HasSubstr(" *"));
    EXPECT_THAT(shown.out, HasSubstr("difference from \"large\""));
    EXPECT_THAT(shown.out, HasSubstr("Value: No price table"));
    EXPECT_THAT(shown.out, HasSubstr("planning estimate"));
    std::vector<std::string> more = words;
    more.insert(more.end(), {"--json", "--doubt", "20"});
    const Outcome outcome = macle(more);
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "compare"), "");
    const auto& weight = json["rows"][0]["cells"];
    EXPECT_TRUE(weight[1]["best"].get<bool>());
    EXPECT_TRUE(weight[1]["difference"].is_null());
    EXPECT_LT(weight[0]["difference"].get<double>(), 0.0);
    EXPECT_NEAR(weight[0]["value"].get<double>() / weight[1]["value"].get<double>(),
                1.0 / (1.5 * 1.5 * 1.5), 1e-6);
    for (const auto& row : json["rows"])
        if (row["title"] == "Doubt of the weight") {
            EXPECT_GT(row["cells"][0]["value"].get<double>(), 0.0);
        }
}

TEST(Compare, RefusesWhatCannotBeCompared) {
    const Folder folder;
    const auto told = [&](const std::string& text, const std::vector<std::string>& more = {}) {
        std::ofstream(folder / "list.json") << text;
        std::vector<std::string> words = {"compare", octahedron(), "--unlit", "--layouts",
                                          folder / "list.json"};
        words.insert(words.end(), more.begin(), more.end());
        const Outcome outcome = macle(words);
        EXPECT_NE(outcome.status, 0);
        EXPECT_EQ(outcome.out, "");
        return outcome.error;
    };
    EXPECT_THAT(told(R"({"layouts": [)" + layout("one", 1.0) + "]}"),
                HasSubstr("nothing to compare"));
    const std::string two =
        R"({"layouts": [)" + layout("one", 1.0) + "," + layout("two", 1.1) + "]}";
    EXPECT_THAT(told(two, {"--against", "three"}), HasSubstr("\"one\", \"two\""));
    EXPECT_THAT(told("{}"), HasSubstr("list.json"));
    std::string apart = two;
    apart.replace(apart.find("[0, 0, 0]"), 9, "[90, 0, 0]");
    EXPECT_THAT(told(apart), HasSubstr("\"one\": Stone 1 lies wholly outside"));
    EXPECT_EQ(macle({"compare", octahedron()}).status, 2);
}

}  // namespace
}  // namespace macle::test
