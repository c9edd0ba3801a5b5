// macle divide: sawn by hand, and a second stone beside the first.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

void write(const std::string& file, const std::string& text) {
    std::ofstream(file) << text;
}

std::string octahedron() {
    return std::string(MACLE_SAMPLES) + "/octahedron.obj";
}

TEST(Divide, SawsByHandAndWhatComesOutAddsUp) {
    const Folder folder;
    const std::string saws = folder / "saws.json";
    write(saws, R"({"saws": [
        {"normal": [0, 0, 2], "offset_mm": 0.5, "kerf_mm": 0.1},
        {"piece": 2, "normal": [1, 0, 0], "offset_mm": 0, "kerf_mm": 0.2, "beam": [0, 1, 0], "exit_mm": 0.05}]})");
    const Outcome outcome = macle({"divide", octahedron(), "--saws", saws, "--json", "--pieces",
                                   folder / "piece", "--out", folder / "again.json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "divide"), "");
    ASSERT_EQ(json["pieces"].size(), 3u);
    double sum = json["kerf_ct"].get<double>();
    for (const auto& piece : json["pieces"])
        sum += piece["weight_ct"].get<double>();
    EXPECT_NEAR(sum, json["rough_ct"].get<double>(), 1e-9 * sum);
    // Each piece is a sound scan again.
    for (int i = 1; i <= 3; ++i) {
        const Outcome weighed =
            macle({"weigh", folder / ("piece_" + std::to_string(i) + ".stl"), "--json"});
        ASSERT_EQ(weighed.status, 0) << weighed.error;
        EXPECT_NEAR(weighed.json()["volume_mm3"].get<double>(),
                    json["pieces"][static_cast<std::size_t>(i - 1)]["volume_mm3"].get<double>(),
                    1e-3);
    }
    // The written list gives the same again.
    const Outcome again =
        macle({"divide", octahedron(), "--saws", folder / "again.json", "--json"});
    EXPECT_EQ(again.json()["pieces"], json["pieces"]);
    EXPECT_EQ(misfit(nlohmann::json::parse(std::ifstream(folder / "again.json")), "saws"), "");
    EXPECT_THAT(macle({"divide", octahedron(), "--saws", saws}).out, HasSubstr("trained hands"));
}

TEST(Divide, FindsASecondStoneBesideTheFirst) {
    const Folder folder;
    const std::string placed = folder / "first.json";
    ASSERT_EQ(
        macle({"fit", octahedron(), "--cut", "round", "--poses", "2000", "--out", placed}).status,
        0);
    const std::vector<std::string> words = {"divide",   octahedron(), "--placement", placed,
                                            "--second", "round",      "--kerf",      "0.05",
                                            "--level",  "--poses",    "600",         "--json"};
    const Outcome outcome = macle(words);
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "divide"), "");
    EXPECT_GT(json["second"]["weight_ct"].get<double>(), 0.05 * json["rough_ct"].get<double>());
    EXPECT_NEAR(
        json["together_ct"].get<double>(),
        json["first"]["weight_ct"].get<double>() + json["second"]["weight_ct"].get<double>(),
        1e-12);
    EXPECT_LT(json["together_ct"].get<double>(),
              json["rough_ct"].get<double>() - json["kerf_ct"].get<double>());
    EXPECT_EQ(macle(words).out, outcome.out);
}

TEST(Divide, RefusesWhatCannotBeSawn) {
    const Folder folder;
    const auto told = [&](const std::string& text) {
        write(folder / "bad.json", text);
        const Outcome outcome = macle({"divide", octahedron(), "--saws", folder / "bad.json"});
        EXPECT_NE(outcome.status, 0);
        EXPECT_EQ(outcome.out, "");
        return outcome.error;
    };
    EXPECT_THAT(told("no json"), HasSubstr("not readable as JSON"));
    EXPECT_THAT(told("[]"), HasSubstr("bad.json"));
    EXPECT_THAT(told(R"({"saws": [{"normal": [0, 0, 0], "offset_mm": 0}]})"),
                HasSubstr("saw 1, normal: it has no length"));
    EXPECT_THAT(told(R"({"saws": [{"normal": [0, 0, 1]}]})"), HasSubstr("offset_mm"));
    EXPECT_THAT(told(R"({"saws": [{"normal": [0, 0, 1], "offset_mm": 0, "beam": [1, 0, 0]}]})"),
                HasSubstr("needs both"));
    EXPECT_THAT(told(R"({"saws": [{"normal": [0, 0, 1], "offset_mm": 99}]})"),
                HasSubstr("Saw 1 leaves nothing above"));
    EXPECT_THAT(told(R"({"saws": [{"normal": [0, 0, 1], "offset_mm": 0, "piece": 3}]})"),
                HasSubstr("divides piece 3"));
    EXPECT_EQ(macle({"divide", octahedron()}).status, 2);
    EXPECT_EQ(macle({"divide", octahedron(), "--second", "round"}).status, 2);
    const Outcome mechanical = macle({"divide", octahedron(), "--second", "round", "--placement",
                                      folder / "none.json", "--mechanical"});
    EXPECT_NE(mechanical.status, 0);
}

}  // namespace
}  // namespace macle::test
