#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "core/archive/stone_file.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

std::string bytesOf(const std::string& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    return text.str();
}

TEST(FaceUp, DrawsACutWithItsFiguresAndTheSameAtAnyThreadCount) {
    const Folder folder;
    const std::string one = folder / "one.png", two = folder / "two.png";
    const std::vector<std::string> words{"picture",       "--face-up",     "--cut",   "round",
                                         "--width",       "6.5",           "--size",  "96x96",
                                         "--json",        "--tilt-series", "--light", "dark-viewer",
                                         "--wavelengths", "450,550,650"};
    auto first = words, second = words;
    first.insert(first.end(), {"--out", one, "--threads", "1"});
    second.insert(second.end(), {"--out", two, "--threads", "3"});
    const Outcome a = macle(first), b = macle(second);
    ASSERT_EQ(a.status, 0) << a.error;
    ASSERT_EQ(b.status, 0) << b.error;
    EXPECT_EQ(misfit(a.json(), "face_up"), "");
    EXPECT_EQ(a.json().at("light_return"), b.json().at("light_return"));
    EXPECT_EQ(a.json().at("tilt_series").size(), 14u);
    EXPECT_EQ(a.json().at("spectrum"), nullptr);
    EXPECT_GT(a.json().at("light_return").get<double>(), 0.4);
    EXPECT_EQ(bytesOf(one), bytesOf(two));
    EXPECT_EQ(bytesOf(one).substr(1, 3), "PNG");
}

TEST(FaceUp, ABodyColourShowsAndLeaksAreAnotherPicture) {
    const Folder folder;
    const std::string pink = folder / "pink.png", leaks = folder / "leaks.png";
    const auto run = [](std::vector<std::string> more) {
        std::vector<std::string> words{"picture", "--face-up", "--cut", "oval",  "--width",
                                       "7",       "--size",    "64x64", "--json"};
        words.insert(words.end(), more.begin(), more.end());
        return macle(words);
    };
    const Outcome coloured = run({"--out", pink, "--spectrum", "pink", "--strength", "1.5"});
    ASSERT_EQ(coloured.status, 0) << coloured.error;
    EXPECT_EQ(misfit(coloured.json(), "face_up"), "");
    EXPECT_EQ(coloured.json().at("spectrum"), "pink");
    EXPECT_GT(coloured.json().at("colour").at("chroma").get<double>(), 10.0);
    const Outcome leaking = run({"--out", leaks, "--leaks", "--wavelengths", "450,550,650"});
    ASSERT_EQ(leaking.status, 0) << leaking.error;
    EXPECT_EQ(leaking.json().at("shows"), "leaks");
    EXPECT_LT(leaking.json().at("colour").at("chroma").get<double>(), 4.0);
    EXPECT_NE(bytesOf(pink), bytesOf(leaks));
}

TEST(FaceUp, AStonesDefectsDimWhatIsSeen) {
    const Folder folder;
    const std::string stone = std::string(MACLE_SAMPLES) + "/heron_7.macle";
    const StoneFile file = openStone(stone);
    ASSERT_FALSE(file.stone.defects.empty());
    const Eigen::Vector3d at = defectBounds(file.stone.defects.front()).centre();
    const auto seen = [&](const std::string& name, const Eigen::Vector3d& centre) {
        const std::string layout = folder / (name + ".json");
        std::ofstream(layout)
            << "{\"cut\": \"round\", \"size_mm\": 3, \"quaternion_wxyz\": [1, 0, 0, 0], "
               "\"translation_mm\": ["
            << centre.x() << ", " << centre.y() << ", " << centre.z() << "]}";
        const Outcome outcome =
            macle({"picture", stone, "--face-up", "--placement", layout, "--size", "64x64",
                   "--wavelengths", "550", "--out", folder / (name + ".png"), "--json"});
        EXPECT_EQ(outcome.status, 0) << outcome.error;
        EXPECT_EQ(misfit(outcome.json(), "face_up"), "");
        return outcome.json();
    };
    const auto within = seen("within", at), outside = seen("outside", {500.0, 0.0, 0.0});
    EXPECT_GE(within.at("bodies_inside").get<int>(), 1);
    EXPECT_EQ(outside.at("bodies_inside"), 0);
    EXPECT_LT(within.at("light_return").get<double>(), outside.at("light_return").get<double>());
    EXPECT_EQ(within.at("size_mm"), 3.0);
}

TEST(FaceUp, TheProgramsSpectraFitTheirSchema) {
    int count = 0;
    for (const auto& entry :
         std::filesystem::directory_iterator(std::string(MACLE_SCHEMAS) + "/../spectra")) {
        EXPECT_EQ(misfit(nlohmann::json::parse(bytesOf(entry.path().string())), "spectrum"), "")
            << entry.path();
        ++count;
    }
    EXPECT_GE(count, 3);
}

TEST(FaceUp, RefusesWhatCannotBeDrawn) {
    const std::vector<std::string> sound{"picture", "--face-up", "--cut", "round",
                                         "--width", "6",         "--out", "a.png"};
    const auto refused = [&](std::vector<std::string> more, const std::string& words) {
        auto all = sound;
        all.insert(all.end(), more.begin(), more.end());
        const Outcome outcome = macle(all);
        EXPECT_NE(outcome.status, 0) << words;
        EXPECT_THAT(outcome.error, HasSubstr(words));
    };
    refused({"--size", "64x32"}, "64x32");
    refused({"--light", "candle"}, "dark-viewer");
    refused({"--spectrum", "teal"}, "cape_yellow");
    refused({"--strength", "2"}, "--spectrum");
    refused({"--wavelengths", "500,x"}, "500,x");
    refused({"--wavelengths", "600,500"}, "ascend");
    refused({"--tilt", "95"}, "tilt");
    refused({"--dark"}, "--dark");
    EXPECT_THAT(macle({"picture", "--face-up", "--cut", "round", "--out", "a.png"}).error,
                HasSubstr("--width"));
    EXPECT_THAT(macle({"picture", "--face-up", "--width", "6", "--out", "a.png"}).error,
                HasSubstr("--cut"));
    EXPECT_THAT(macle({"picture", "a.stl", "--leaks", "--out", "a.png"}).error,
                HasSubstr("--face-up"));
    EXPECT_EQ(macle({"picture", "--face-up", "--cut", "round", "--width", "6"}).status, 2);
}

}  // namespace
}  // namespace macle::test
