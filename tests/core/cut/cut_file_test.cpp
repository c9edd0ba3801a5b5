// Cut files: what they may say, and that a fault is told with file and rule.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/cut/construction.h"
#include "core/cut/cut_recipe.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"
#include "tests/core/cut/cut_extent.h"

using namespace macle;
using namespace macle::test;
using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using Json = nlohmann::ordered_json;

namespace {

// A prism with a roof: the smallest cut that uses most rules.
Json roof() {
    return Json::parse(R"({
      "cut": "roof", "title": "Roof",
      "proportions": [
        {"key": "height_percent", "option": "height", "label": "Height", "unit": "%",
         "standard": 20, "low": 5, "high": 60},
        {"key": "slope_deg", "option": "slope", "label": "Slope", "unit": "deg",
         "standard": 40, "low": 10, "high": 60}],
      "symmetry": {"turns": 2, "mirror": true},
      "outline": [{"start": [0.5, 0]}, {"line_to": [0.5, 0.5]}, {"line_to": [0, 0.5]}],
      "rules": [
        {"value": "h", "is": "height_percent / 100"},
        {"require": "slope_deg - height_percent / 2", "otherwise": "The slope of {slope_deg} is too low.",
         "remedy": "Make it steeper."},
        {"place": "A", "outline": 0},
        {"place": "C", "outline": 1},
        {"place": "B", "outline": 2},
        {"facet": "table", "level": "h"},
        {"facet": "crown step", "id": "side", "through": ["C@0.1"], "along": ["C", "B"],
         "angle_deg": "slope_deg", "side": "crown"},
        {"for": {"k": [0, 1]}, "place": "D{k}", "between": ["centre", "C"], "share": "{k} / 2"},
        {"girdle": ["A", "C", "B"], "flats": 1},
        {"facet": "base", "level": -0.2}]})");
}

Design build(const Json& file) {
    return construct(parseCutRecipe(file.dump(), "roof.json"),
                     {{"height_percent", 20.0}, {"slope_deg", 40.0}});
}

std::string faultOf(const Json& file) {
    try {
        build(file);
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput) << error.what();
        EXPECT_THAT(error.message(), HasSubstr("roof.json"));
        EXPECT_FALSE(error.remedy().empty());
        return error.message();
    }
    ADD_FAILURE() << "a faulty file was taken";
    return "";
}

class CutFolder : public testing::Test {
  protected:
    void SetUp() override {
        folder_ = std::filesystem::path(testing::TempDir()) /
                  ("cuts_" + std::to_string(::getpid()) + "_" +
                   testing::UnitTest::GetInstance()->current_test_info()->name());
        std::filesystem::create_directories(folder_);
    }
    void TearDown() override { std::filesystem::remove_all(folder_); }
    std::filesystem::path write(const std::string& name, const std::string& text) {
        std::ofstream(folder_ / name) << text;
        return folder_ / name;
    }
    std::filesystem::path folder_;
};

}  // namespace

TEST(CutFile, BuildsWhatItSays) {
    const Design design = build(roof());
    std::vector<std::string> names;
    for (const Facet& facet : design.parts.front().facets)
        names.push_back(facet.name);
    EXPECT_THAT(names, ElementsAre("table", "crown step 1", "crown step 2", "girdle 1", "girdle 2",
                                   "girdle 3", "girdle 4", "base"));
    EXPECT_NEAR(facetAngle_deg(design.parts.front().facets[1]), 40.0, 1e-12);
    EXPECT_NEAR(extentOf(design).extent().z(), 0.4, 1e-14);
}

TEST(CutFile, AFaultIsToldWithFileAndRule) {
    struct Case {
        std::string path;  // JSON pointer
        Json value;
        std::vector<std::string> says;
    };
    const Case cases[] = {
        {"/rules/0/is", "hight_percent", {"rule 1, value \"h\"", "\"hight_percent\" is not known"}},
        {"/rules/0/is", "1 +", {"rule 1", "missing at the end"}},
        {"/rules/0/is", Json::array(), {"rule 1", "number or a formula"}},
        {"/rules/2", Json{{"place", "A"}}, {"rule 3, place \"A\"", "told in one way"}},
        {"/rules/2/outline", 7, {}},
        {"/rules/5/facet", "table 1", {"rule 6", "ends in a number"}},
        {"/rules/6/through", Json{"X@0.1"}, {"rule 7", "no place \"X\""}},
        {"/rules/6/through", Json{"X"}, {"rule 7", "no point \"X\""}},
        {"/rules/6/through", Json{"C@0.1", "B@0.1"}, {"rule 7", "do not fix a plane"}},
        {"/rules/6/side", "left", {"rule 7", "crown or pavilion"}},
        {"/rules/6/colour", "red", {"rule 7", "\"colour\" is not known"}},
        {"/rules/7/for", Json{{"k", {3, 1}}}, {"rule 8", "[0, 3]"}},
        {"/rules/7/share", "{k} / j", {"rule 8, place \"D0\"", "\"j\" is not known"}},
        {"/rules/8/girdle", Json{"A"}, {"rule 9", "list of 2 to 200"}},
        {"/rules/8/flats", 0, {"rule 9", "whole numbers"}},
        {"/rules/8/flats", Json{1, 2, 3}, {"rule 9", "each of the 2 gaps"}},
        {"/rules/9", Json{{"gridle", "A"}}, {"rule 10", "none of the rules"}},
        {"/proportions/0/standard", 90, {"proportion 1", "does not hold the standard"}},
        {"/proportions/1/option", "height", {"proportion 2", "used twice"}},
        {"/proportions/0/unit", "mm", {"proportion 1", "% or deg"}},
        {"/symmetry/turns", 0, {"symmetry", "whole number"}},
        {"/outline/1", Json{{"line_to", {0.5}}}, {"outline piece 1", "list of 2"}},
        {"/cut", "My Roof", {"small letters"}},
        {"/extra", 1, {"\"extra\" is not known"}},
    };
    for (const Case& c : cases) {
        Json file = roof();
        file[Json::json_pointer(c.path)] = c.value;
        SCOPED_TRACE(c.path + " " + c.value.dump());
        if (c.says.empty()) {
            EXPECT_THROW(build(file), Error);
            continue;
        }
        const std::string text = faultOf(file);
        for (const std::string& part : c.says)
            EXPECT_THAT(text, HasSubstr(part));
    }
}

TEST(CutFile, ARequirementIsRefusedInItsOwnWords) {
    const CutRecipe recipe = parseCutRecipe(roof().dump(), "roof.json");
    try {
        construct(recipe, {{"height_percent", 40.0}, {"slope_deg", 15.5}});
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        EXPECT_EQ(error.message(), "The slope of 15.50 is too low.");
        EXPECT_EQ(error.remedy(), "Make it steeper.");
    }
}

TEST(CutFile, AMeetThatIsCutOffIsRefusedWithRuleAndFacet) {
    Json file = roof();
    file["rules"][5]["level"] = 0.05;  // below the girdle edge that the steps start from
    try {
        build(file);
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        EXPECT_THAT(error.message(),
                    AllOf(HasSubstr("table cuts off crown step at C@0.1 by 5.0000 %"),
                          HasSubstr("roof.json, rule 7, facet \"crown step\"")));
    }
}

TEST(CutFile, TextThatIsNoJsonIsToldWithItsPlace) {
    try {
        parseCutRecipe("{\"cut\": \"a\",\n \"title\": }", "a.json");
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput);
        EXPECT_THAT(error.message(), AllOf(HasSubstr("a.json"), HasSubstr("line 2")));
    }
    for (const char* text : {"", "[]", "7", "null", "{}", "{\"cut\": 1}",
                             "{\"cut\":\"a\",\"title\":\"A\",\"based_on\":7}"})
        EXPECT_THROW(parseCutRecipe(text, "a.json"), Error) << text;
}

TEST(CutFile, EveryPieceOfATornFileIsRefusedNotFollowed) {
    const std::string whole = roof().dump();
    for (std::size_t length = 0; length < whole.size(); length += 7)
        EXPECT_THROW(parseCutRecipe(whole.substr(0, length), "torn.json"), Error);
}

TEST_F(CutFolder, OfTheWorksAddsItsCuts) {
    write("roof.json", roof().dump());
    write("notes.txt", "not a cut");
    // Found before the cut it is based on, by its name.
    write("a_low_roof.json", R"({"cut": "low_roof", "title": "Low roof", "based_on": "roof",
      "standards": {"height_percent": 15},
      "edits": [{"tilt": "crown step", "row": true, "tilt_deg": -5, "hold_percent": 10}]})");
    EXPECT_THAT(addCuts(folder_), testing::UnorderedElementsAre("roof", "low_roof"));
    const Design low = makeDesign("low_roof", {});
    EXPECT_EQ(low.cut, "low_roof");
    EXPECT_EQ(low.proportions.at("height_percent"), 15.0);
    for (const Facet& facet : low.parts.front().facets)
        if (rowOf(facet.name) == "crown step") {
            EXPECT_NEAR(facetAngle_deg(facet), 35.0, 1e-12);
            // The line at height 0.1 over the girdle stays.
            EXPECT_NEAR(
                facet.normal.dot(Eigen::Vector3d(0, facet.normal.y() > 0 ? 0.5 : -0.5, 0.1)),
                facet.distance, 1e-14);
        }
    EXPECT_EQ(findCut("roof").title, "Roof");
    // Replaced by a newer file of the same name; what is held stays valid.
    const CutInfo& held = findCut("roof");
    Json newer = roof();
    newer["title"] = "New roof";
    write("roof.json", newer.dump());
    addCuts(folder_ / "roof.json");
    EXPECT_EQ(findCut("roof").title, "New roof");
    EXPECT_EQ(held.title, "Roof");
    int count = 0;
    for (const CutInfo& cut : cutLibrary())
        count += cut.name == "roof" ? 1 : 0;
    EXPECT_EQ(count, 1);
}

TEST_F(CutFolder, WithOneFaultyFileAddsNothing) {
    Json good = roof();
    good["cut"] = "sound_roof";
    write("a.json", good.dump());
    Json bad = roof();
    bad["cut"] = "bad_roof";
    bad["rules"][5]["level"] = 0.05;
    write("b.json", bad.dump());
    const std::size_t before = cutLibrary().size();
    try {
        addCuts(folder_);
        FAIL();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput);
        EXPECT_THAT(error.message(), AllOf(HasSubstr("b.json"), HasSubstr("rule 7")));
    }
    EXPECT_EQ(cutLibrary().size(), before);
    EXPECT_THROW(findCut("sound_roof"), Error);
}

TEST_F(CutFolder, CannotReplaceACutOfTheProgramOrStandOnNothing) {
    Json taken = roof();
    taken["cut"] = "round";
    EXPECT_THROW(addCuts(write("round.json", taken.dump())), Error);
    EXPECT_EQ(findCut("round").title, "Round brilliant");
    EXPECT_THROW(addCuts(write("x.json", R"({"cut": "x", "title": "X", "based_on": "nothing",
                                             "edits": []})")),
                 Error);
    EXPECT_THROW(addCuts(write("y.json", R"({"cut": "y", "title": "Y", "based_on": "y",
                                             "edits": []})")),
                 Error);
    EXPECT_THROW(addCuts(write("z.json", R"({"cut": "z", "title": "Z", "based_on": "round",
                                             "standards": {"table_percent": 99}, "edits": []})")),
                 Error);
    EXPECT_THROW(addCuts(folder_ / "absent.json"), Error);
}

TEST_F(CutFolder, AnEditedCutComesBackFromItsFile) {
    const std::vector<FacetEdit> edits = {
        {.what = FacetEdit::What::Tilt,
         .facet = "pavilion main",
         .wholeRow = true,
         .tilt_deg = 0.4,
         .hold_percent = -1.5},
        {.what = FacetEdit::What::Add,
         .facet = "pavilion point",
         .angle_deg = 35,
         .azimuth_deg = 22.5,
         .distance_percent = 30,
         .crown = false,
         .copies = 8},
        {.what = FacetEdit::What::Turn, .facet = "star 3", .turn_deg = 0.25},
        {.what = FacetEdit::What::Shift, .facet = "table", .shift_percent = -0.75},
        {.what = FacetEdit::What::Remove, .facet = "upper half 7"}};
    const std::map<std::string, double> proportions = {{"table_percent", 58.123456789}};
    const std::string text =
        editedCutFile("round", "works_round", "Round of the works", proportions, edits);
    addCuts(write("works_round.json", text));
    const Design expected = edited(makeDesign("round", proportions), edits);
    const Design found = makeDesign("works_round", {});
    ASSERT_EQ(found.parts.front().facets.size(), expected.parts.front().facets.size());
    for (std::size_t k = 0; k < expected.parts.front().facets.size(); ++k) {
        const Facet& a = expected.parts.front().facets[k];
        const Facet& b = found.parts.front().facets[k];
        EXPECT_EQ(a.name, b.name);
        EXPECT_EQ(a.normal, b.normal);
        EXPECT_EQ(a.distance, b.distance);
    }
    EXPECT_THROW(editedCutFile("works_round", "works_round", "Again", {}, edits), Error);
    EXPECT_THROW(editedCutFile("round", "round", "Round", {}, edits), Error);
    EXPECT_THROW(editedCutFile("round", "My cut", "Mine", {}, edits), Error);
    EXPECT_THROW(editedCutFile("rund", "mine", "Mine", {}, edits), Error);
}
