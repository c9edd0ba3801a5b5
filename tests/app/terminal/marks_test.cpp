// macle marks: reference face and saws on the skin, as text, JSON, DXF and SVG.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

std::string octahedron() {
    return std::string(MACLE_SAMPLES) + "/octahedron.obj";
}

std::string textOf(const std::string& file) {
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

void write(const std::string& file, const std::string& text) {
    std::ofstream(file) << text;
}

// A round of 3 mm with its table square to the octahedron's fourfold axis, and two saws.
struct Files {
    Folder folder;
    std::string placement = folder / "layout.json";
    std::string saws = folder / "saws.json";
    Files() {
        write(placement, R"({"quaternion_wxyz": [1, 0, 0, 0], "translation_mm": [0, 0, 0],
                             "size_mm": 3, "cut": "round"})");
        write(saws, R"({"saws": [{"normal": [1, 0, 0], "offset_mm": 3, "kerf_mm": 0.2},
            {"normal": [0, 1, 0], "offset_mm": 2, "kerf_mm": 0.2, "beam": [0, 0, 1],
             "exit_mm": 0.05}]})");
    }
};

TEST(Marks, OfAnOctahedronFitTheSchemaAndTheClosedForms) {
    const Files files;
    const Outcome outcome =
        macle({"marks", octahedron(), "--placement", files.placement, "--saws", files.saws,
               "--girdles", "--out", files.folder / "marks", "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "marks"), "");
    ASSERT_EQ(json["references"].size(), 1u);
    int slopes = 0;
    for (const auto& angle : json["references"][0]["angles"])
        if (std::abs(angle["between_deg"].get<double>() - 54.735610317245346) < 1e-6) ++slopes;
    EXPECT_EQ(slopes, 8);
    EXPECT_FALSE(json["references"][0]["firmness"].is_null());
    ASSERT_EQ(json["curves"].size(), 8u);
    const double edge = 10.0, corner = edge / std::sqrt(2.0);
    for (const auto& curve : json["curves"])
        if (curve["name"] == "saw 1 middle") {
            EXPECT_NEAR(curve["length_mm"].get<double>(), 4.0 * edge * (1.0 - 3.0 / corner), 1e-5);
            EXPECT_EQ(curve["length_mm"], curve["skin_mm"]);
            EXPECT_EQ(curve["layer"], "SAW_1_MIDDLE");
        } else if (curve["name"] == "saw 2 middle") {
            EXPECT_LT(curve["skin_mm"].get<double>(), curve["length_mm"].get<double>());
            EXPECT_EQ(curve["loops"][0]["stretches"].size(), 2u);
        }
    EXPECT_LT(json["off_skin_mm"].get<double>(), 1e-12);
    EXPECT_LT(json["off_plane_mm"].get<double>(), 1e-12);
    EXPECT_EQ(json["files"].size(), 2u);
    EXPECT_THAT(textOf(files.folder / "marks.dxf"), HasSubstr("AC1009"));
    EXPECT_THAT(textOf(files.folder / "marks.svg"), HasSubstr("saw 2 edge above"));
}

TEST(Marks, TextTellsTheReferenceFaceTheLengthsAndTheDangers) {
    const Files files;
    const Outcome outcome = macle({"marks", octahedron(), "--placement", files.placement, "--out",
                                   files.folder / "only.dxf"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    for (const char* words :
         {"Reference face of stone 1", "corner of natural faces", "54.74 deg", "below the plane",
          "reference face", "Laser: class 4", "Dust", "Heat", "local codes"})
        EXPECT_THAT(outcome.out, HasSubstr(words));
    EXPECT_TRUE(std::filesystem::exists(files.folder / "only.dxf"));
    EXPECT_FALSE(std::filesystem::exists(files.folder / "only.dxf.svg"));
    const Outcome drawing = macle({"marks", octahedron(), "--placement", files.placement, "--out",
                                   files.folder / "only.svg"});
    ASSERT_EQ(drawing.status, 0) << drawing.error;
    EXPECT_TRUE(std::filesystem::exists(files.folder / "only.svg"));
    EXPECT_FALSE(std::filesystem::exists(files.folder / "only.svg.dxf"));
}

TEST(Marks, OfSawsAloneNeedNoPlacement) {
    const Files files;
    const Outcome outcome = macle({"marks", octahedron(), "--saws", files.saws, "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "marks"), "");
    EXPECT_TRUE(json["references"].empty());
    EXPECT_EQ(json["curves"].size(), 6u);
}

TEST(Marks, OfTheSampleStoneAreTheSameEachTime) {
    const Files files;
    const std::string stone = std::string(MACLE_SAMPLES) + "/heron_7.macle";
    const std::vector<std::string> words = {"marks",  stone,      "--placement", files.placement,
                                            "--saws", files.saws, "--json"};
    const Outcome outcome = macle(words);
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    EXPECT_EQ(misfit(outcome.json(), "marks"), "");
    EXPECT_EQ(macle(words).out, outcome.out);
}

TEST(Marks, RefusesWhatCannotBeMarked) {
    const Files files;
    EXPECT_EQ(macle({"marks", octahedron()}).status, 2);
    EXPECT_THAT(macle({"marks", octahedron()}).error, HasSubstr("nothing to mark"));
    const Outcome nowhere = macle({"marks", octahedron(), "--placement", files.placement, "--out",
                                   files.folder / "no/such/marks"});
    EXPECT_EQ(nowhere.status, 1);
    EXPECT_THAT(nowhere.error, HasSubstr("could not be written"));
    EXPECT_NE(macle({"marks", octahedron(), "--placement", files.placement, "--stone", "2"}).status,
              0);
    write(files.folder / "far.json", R"({"saws": [{"normal": [0, 0, 1], "offset_mm": 99}]})");
    EXPECT_THAT(macle({"marks", octahedron(), "--saws", files.folder / "far.json"}).error,
                HasSubstr("leaves nothing above"));
}

}  // namespace
}  // namespace macle::test
