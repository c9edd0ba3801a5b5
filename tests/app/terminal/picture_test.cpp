#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "core/archive/stone_file.h"
#include "core/stone/sample.h"
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

unsigned bigEndian(const std::string& bytes, std::size_t at) {
    unsigned value = 0;
    for (std::size_t i = 0; i < 4; ++i)
        value = value << 8 | static_cast<unsigned char>(bytes[at + i]);
    return value;
}

TEST(Picture, IsAPngOfTheSizeAskedForWithNoDisplay) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), layout = folder / "layout.json";
    ASSERT_EQ(macle({"fit", stone, "--cut", "round", "--poses", "500", "--out", layout}).status, 0);
    std::vector<std::string> seen;
    for (const char* from : {"table", "side", "oblique"}) {
        const std::string file = folder / (std::string(from) + ".png");
        const Outcome outcome = macle({"picture", stone, "--placement", layout, "--from", from,
                                       "--size", "320x240", "--out", file, "--json"});
        if (outcome.status == 1 &&
            outcome.error.find("No picture can be made") != std::string::npos)
            GTEST_SKIP() << outcome.error;
        ASSERT_EQ(outcome.status, 0) << outcome.error;
        EXPECT_EQ(misfit(outcome.json(), "picture"), "");
        const std::string png = bytesOf(file);
        ASSERT_GT(png.size(), 24u);
        EXPECT_EQ(png.substr(1, 3), "PNG");
        EXPECT_EQ(bigEndian(png, 16), 320u);
        EXPECT_EQ(bigEndian(png, 20), 240u);
        EXPECT_THAT(seen, ::testing::Not(::testing::Contains(png))) << "two views look the same";
        seen.push_back(png);
    }
}

TEST(Picture, ShowsAllStonesOfALayoutAndItsSaws) {
    const Folder folder;
    StoneFile file;
    file.stone = octahedronStone(8.0, 2);
    file.layouts.resize(1);
    Layout& layout = file.layouts.front();
    layout.saws.resize(1);
    layout.saws[0].normal = Eigen::Vector3d::UnitX();
    layout.saws[0].kerf_mm = 0.2;
    layout.stones.resize(2);
    layout.stones[0].placement.size_mm = layout.stones[1].placement.size_mm = 2.0;
    layout.stones[0].placement.translation_mm = {-1.8, 0.0, 0.0};
    layout.stones[1].placement.translation_mm = {1.8, 0.0, 0.0};
    layout.stones[1].piece = 1;
    const auto drawn = [&](const std::string& name, std::vector<std::string> more) {
        saveStoneFile(file, folder / (name + ".macle"));
        std::vector<std::string> words = {
            "picture", folder / (name + ".macle"), "--from", "oblique", "--size", "200x150",
            "--out",   folder / (name + ".png")};
        words.insert(words.end(), more.begin(), more.end());
        const Outcome outcome = macle(words);
        EXPECT_EQ(outcome.status, 0) << outcome.error;
        return bytesOf(folder / (name + ".png"));
    };
    const Outcome able = macle(
        {"picture", octahedronFile(folder, 5.0), "--size", "32x32", "--out", folder / "able.png"});
    if (able.error.find("No picture can be made") != std::string::npos) GTEST_SKIP() << able.error;
    const std::string first = drawn("first", {});
    const std::string second = drawn("second", {"--stone", "2"});
    EXPECT_NE(first, second);  // another one is the brightest
    layout.stones.pop_back();
    const std::string one = drawn("one", {});
    EXPECT_NE(one, first);
    layout.saws.clear();
    EXPECT_NE(drawn("whole", {}), one);
}

TEST(Picture, RefusesSizesAndViewsThatDoNotExist) {
    for (const char* size :
         {"0x0", "320", "320x", "x240", "320x240x1", "-1x5", "99999x10", "axb"}) {
        const Outcome outcome = macle({"picture", "a.stl", "--out", "a.png", "--size", size});
        EXPECT_EQ(outcome.status, 2) << size;
        EXPECT_THAT(outcome.error, HasSubstr("WIDTHxHEIGHT")) << size;
    }
    const Outcome view = macle({"picture", "a.stl", "--out", "a.png", "--from", "tabel"});
    EXPECT_EQ(view.status, 2);
    EXPECT_THAT(view.error, HasSubstr("--from table"));
    EXPECT_EQ(macle({"picture", "a.stl"}).status, 2);
    EXPECT_EQ(macle({"picture", "a.stl", "--out", "a.gif"}).status, 2);
}

}  // namespace
}  // namespace macle::test
