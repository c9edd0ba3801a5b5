#include "core/archive/stone_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <random>

#include "core/archive/open_lock.h"
#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"
#include "tests/core/archive/stones.h"

namespace macle {
namespace {

namespace fs = std::filesystem;
using test::bytesOf;
using test::fullStone;
using test::putBytes;
using ::testing::HasSubstr;

class StoneFileTest : public test::InScratchFolder {
  protected:
    void sql(const std::string& text) const {
        sqlite3* db = nullptr;
        ASSERT_EQ(sqlite3_open(file_.c_str(), &db), SQLITE_OK);
        EXPECT_EQ(sqlite3_exec(db, text.c_str(), nullptr, nullptr, nullptr), SQLITE_OK)
            << sqlite3_errmsg(db);
        sqlite3_close(db);
    }

    std::string refusal() const {
        try {
            openStoneFile(file_);
            return "opened";
        } catch (const Error& error) {
            EXPECT_FALSE(error.remedy().empty());
            return error.message();
        }
    }
};

TEST_F(StoneFileTest, GivesBackEverythingToTheLastBit) {
    const StoneFile saved = fullStone();
    saveStoneFile(saved, file_);
    const StoneFile opened = openStoneFile(file_);
    const Stone& a = saved.stone;
    const Stone& b = opened.stone;
    EXPECT_EQ(a.name, b.name);
    EXPECT_EQ(a.scale_ct, b.scale_ct);
    EXPECT_EQ(a.rough.volume_mm3, b.rough.volume_mm3);
    EXPECT_EQ(a.rough.mesh.vertices, b.rough.mesh.vertices);
    EXPECT_EQ(a.rough.mesh.triangles, b.rough.mesh.triangles);
    ASSERT_EQ(a.defects.size(), b.defects.size());
    for (std::size_t i = 0; i < a.defects.size(); ++i) {
        EXPECT_EQ(a.defects[i].name, b.defects[i].name);
        EXPECT_EQ(a.defects[i].kind, b.defects[i].kind);
        EXPECT_EQ(a.defects[i].severity, b.defects[i].severity);
        EXPECT_EQ(a.defects[i].policy, b.defects[i].policy);
        EXPECT_EQ(a.defects[i].cluster, b.defects[i].cluster);
        EXPECT_EQ(a.defects[i].shape.index(), b.defects[i].shape.index());
        EXPECT_EQ(defectSurface(a.defects[i]).vertices, defectSurface(b.defects[i]).vertices);
    }
    ASSERT_EQ(a.clusters.size(), b.clusters.size());
    for (std::size_t i = 0; i < a.clusters.size(); ++i)
        EXPECT_EQ(a.clusters[i].members, b.clusters[i].members);
    EXPECT_EQ(b.trusted, TrustedWeight::Scale);
    ASSERT_TRUE(b.axes.has_value());
    EXPECT_EQ(a.axes->rotation.coeffs(), b.axes->rotation.coeffs());
    ASSERT_EQ(b.axes->faces.size(), 2u);
    EXPECT_EQ(a.axes->faces[1].normal, b.axes->faces[1].normal);
    EXPECT_EQ(b.axes->faces[1].form, FaceForm::Cube);
    EXPECT_EQ(b.colour.body.letter, "K");
    EXPECT_EQ(b.colour.body.hue, "yellow");
    EXPECT_EQ(b.colour.fluorescence.strength, FluorescenceStrength::Medium);
    EXPECT_EQ(b.colour.fluorescence.colour, "blue");
    ASSERT_EQ(b.colour.zones.size(), 2u);
    EXPECT_EQ(b.colour.zones[0].strength, 2);
    EXPECT_EQ(std::get<TriangleMesh>(b.colour.zones[0].shape).vertices,
              std::get<TriangleMesh>(a.colour.zones[0].shape).vertices);
    EXPECT_EQ(std::get<Ellipsoid>(b.colour.zones[1].shape).halfAxes_mm,
              Eigen::Vector3d(1.0, 2.0, 3.0));
    EXPECT_EQ(opened.notes.form, 4);
    EXPECT_FALSE(opened.notes.readOnly);
    ASSERT_EQ(opened.layouts.size(), 2u);
    const Layout& layout = opened.layouts[0];
    EXPECT_EQ(layout.name, saved.layouts[0].name);
    EXPECT_EQ(layout.main().proportions, saved.layouts[0].main().proportions);
    EXPECT_EQ(layout.main().placement.size_mm, saved.layouts[0].main().placement.size_mm);
    EXPECT_EQ(layout.main().placement.translation_mm,
              saved.layouts[0].main().placement.translation_mm);
    EXPECT_EQ(layout.main().placement.rotation.coeffs(),
              saved.layouts[0].main().placement.rotation.coeffs());
    EXPECT_EQ(layout.main().rules.allowance_mm, 0.05);
}

TEST_F(StoneFileTest, LeavesNoSideFilesBehind) {
    saveStoneFile(fullStone(), file_);
    saveStoneFile(fullStone(), file_);
    openStoneFile(file_);
    int files = 0;
    for ([[maybe_unused]] const auto& entry : fs::directory_iterator(folder_))
        ++files;
    EXPECT_EQ(files, 1);
}

TEST_F(StoneFileTest, AFailedSaveKeepsTheOldFile) {
    saveStoneFile(fullStone(), file_);
    StoneFile other = fullStone();
    other.stone.name = "other";
    EXPECT_THROW(saveStoneFile(other, folder_ / "missing" / "stone.macle"), Error);
    fs::create_directory(folder_ / "in the way");
    EXPECT_THROW(saveStoneFile(other, folder_ / "in the way"), Error);
    EXPECT_EQ(openStoneFile(file_).stone.name, fullStone().stone.name);
}

TEST_F(StoneFileTest, OpensAReadOnlyFileSaysSoAndNeverReplacesIt) {
    saveStoneFile(fullStone(), file_);
    const std::string before = bytesOf(file_);
    fs::permissions(file_, fs::perms::owner_read);
    const StoneFile opened = openStoneFile(file_);
    EXPECT_EQ(opened.stone.name, fullStone().stone.name);
    EXPECT_TRUE(opened.notes.readOnly);
    EXPECT_THAT(opened.notes.why, HasSubstr("read-only"));
    try {
        saveStoneFile(opened, file_);
        FAIL() << "a file marked read-only was replaced";
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::Io);
        EXPECT_THAT(error.message(), HasSubstr("read-only"));
        EXPECT_THAT(error.remedy(), HasSubstr("another name"));
    }
    EXPECT_EQ(bytesOf(file_), before);
    EXPECT_EQ(entriesIn(folder_), 1u);
}

TEST_F(StoneFileTest, AJournalThatLiesBesideAFileIsNotObeyed) {
    saveStoneFile(fullStone(), file_);
    // A journal that would turn the whole file to zeros if it were rolled back.
    sql("PRAGMA journal_mode = PERSIST; BEGIN; UPDATE stone SET done = done; COMMIT");
    const std::string before = bytesOf(file_);
    std::string journal = bytesOf(file_.string() + "-journal");
    const std::string magic("\xd9\xd5\x05\xf9\x20\xa1\x63\xd7", 8);
    journal.replace(0, 8, magic);
    putBytes(file_.string() + "-journal", journal);
    EXPECT_EQ(refusal(), "opened");
    EXPECT_EQ(bytesOf(file_), before);
    EXPECT_EQ(bytesOf(file_.string() + "-journal"), journal);
}

TEST_F(StoneFileTest, KeepsPermissionsAndLinks) {
    saveStoneFile(fullStone(), file_);
    fs::permissions(file_, fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_read);
    fs::create_symlink(file_, folder_ / "link.macle");
    StoneFile other = fullStone();
    other.stone.name = "through the link";
    saveStoneFile(other, folder_ / "link.macle");
    EXPECT_TRUE(fs::is_symlink(folder_ / "link.macle"));
    EXPECT_EQ(openStoneFile(file_).stone.name, "through the link");
    EXPECT_EQ(fs::status(file_).permissions(),
              fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_read);
}

TEST_F(StoneFileTest, NamesWithSignsOfAnAddressAreNames) {
    file_ = folder_ / "50%20 stone?mode=memory#1.macle";
    saveStoneFile(fullStone(), file_);
    EXPECT_TRUE(fs::exists(file_));
    EXPECT_EQ(openStoneFile(file_).stone.name, fullStone().stone.name);
    EXPECT_EQ(entriesIn(folder_), 1u);
}

TEST_F(StoneFileTest, UpgradesTheFirstFormInMemoryAndLeavesTheFileAlone) {
    fs::copy_file(fs::path(MACLE_TEST_DATA) / "old" / "form_1.macle", file_);
    const std::string before = bytesOf(file_);
    const StoneFile opened = openStoneFile(file_);
    EXPECT_EQ(bytesOf(file_), before);
    EXPECT_EQ(entriesIn(folder_), 1u);
    EXPECT_TRUE(opened.notes.upgraded);
    EXPECT_EQ(opened.notes.form, 1);
    EXPECT_EQ(opened.stone.name, "octahedron");
    EXPECT_NEAR(opened.stone.rough.volume_mm3, 1000.0 * std::sqrt(2.0) / 3.0, 1e-9);
    ASSERT_EQ(opened.stone.defects.size(), 3u);
    EXPECT_EQ(opened.stone.defects[0].severity, 4);
    EXPECT_EQ(std::get<Ellipsoid>(opened.stone.defects[0].shape).rotation.coeffs(),
              Eigen::Quaterniond(0.5, -0.5, 0.5, -0.5).coeffs());
    EXPECT_TRUE(std::holds_alternative<Sheet>(opened.stone.defects[1].shape));
    EXPECT_EQ(opened.stone.defects[2].policy, DefectPolicy::MayStay);
    EXPECT_NEAR(defectVolume_mm3(opened.stone.defects[2]), 0.125 / 6.0, 1e-12);
    ASSERT_EQ(opened.layouts.size(), 1u);
    EXPECT_EQ(opened.layouts[0].main().rules.allowance_mm, 0.05);
    EXPECT_NEAR(opened.layouts[0].main().placement.size_mm, 8.737, 1e-3);
    EXPECT_TRUE(opened.history.steps.empty());
    // Saved, it has the present form and the same content.
    saveStoneFile(opened, file_);
    const StoneFile again = openStoneFile(file_);
    EXPECT_EQ(again.notes.form, 4);
    EXPECT_EQ(again.stone.rough.mesh.vertices, opened.stone.rough.mesh.vertices);
    EXPECT_EQ(again.layouts[0].main().placement.rotation.coeffs(),
              opened.layouts[0].main().placement.rotation.coeffs());
}

TEST_F(StoneFileTest, RefusesANewerFileWithAReason) {
    saveStoneFile(fullStone(), file_);
    sql("PRAGMA user_version = 99");
    EXPECT_THAT(refusal(), HasSubstr("newer"));
}

TEST_F(StoneFileTest, RefusesAForeignDatabase) {
    sql("CREATE TABLE notes(text TEXT)");
    EXPECT_THAT(refusal(), HasSubstr("not a stone file"));
}

TEST_F(StoneFileTest, RefusesTriggersAndViews) {
    saveStoneFile(fullStone(), file_);
    sql("CREATE TRIGGER t AFTER INSERT ON step BEGIN DELETE FROM stone; END");
    EXPECT_THAT(refusal(), HasSubstr("triggers"));
    saveStoneFile(fullStone(), file_);
    sql("CREATE VIEW v AS SELECT * FROM stone");
    EXPECT_THAT(refusal(), HasSubstr("triggers or views"));
    saveStoneFile(fullStone(), file_);
    sql("CREATE VIRTUAL TABLE t USING fts5(x)");
    EXPECT_THAT(refusal(), HasSubstr("triggers or views"));
}

TEST_F(StoneFileTest, RefusesTextEmptyAndMissingFiles) {
    EXPECT_THAT(refusal(), HasSubstr("is not a file"));
    std::ofstream(file_) << "";
    EXPECT_THAT(refusal(), HasSubstr("not a stone file"));
    std::ofstream(file_) << "solid but not a database, and long enough to have a header of its own "
                            "so that nothing mistakes it for an empty one ..............";
    EXPECT_THAT(refusal(), HasSubstr("not a stone file"));
}

TEST_F(StoneFileTest, RefusesWhatWasChangedOutsideTheProgram) {
    const std::pair<const char*, const char*> cases[] = {
        {"UPDATE surface SET vertices_mm = x'00'", "cut short"},
        {"UPDATE surface SET vertices_mm = substr(vertices_mm, 1, 2400)", "not as it was saved"},
        {"UPDATE surface SET triangles = x''", "not as it was saved"},
        {"DELETE FROM surface", "missing"},
        {"UPDATE stone SET rough = x'35'", "not text"},
        {"UPDATE stone SET rough = 'none'", "not as it was saved"},
        {"UPDATE stone SET done = 1.5", "not a whole number"},
        {"UPDATE stone SET state = replace(state, '\"severity\":5', '\"severity\":4')",
         "not as it was saved"},
        {"UPDATE stone SET report = '{}'", "report"},
        {"DELETE FROM stone", "no stone"},
        {"INSERT INTO stone SELECT * FROM stone", "not as it was saved"},
        {"DROP TABLE step", "not a stone file"},
        {"INSERT INTO approval VALUES(0, '{}', '')", "not as it was saved"},
        {"PRAGMA user_version = 0", "form number"},
        {"PRAGMA user_version = -3", "form number"},
    };
    for (const auto& [change, reason] : cases) {
        saveStoneFile(fullStone(), file_);
        sql(change);
        EXPECT_THAT(refusal(), HasSubstr(reason)) << change;
        EXPECT_EQ(entriesIn(folder_), 1u);
    }
}

// The old form had no seal: every value is checked for itself.
TEST_F(StoneFileTest, RefusesValuesThatMakeNoSenseInTheFirstForm) {
    const std::pair<const char*, const char*> cases[] = {
        {"UPDATE stone SET vertices_mm = x'00'", "cut short"},
        {"UPDATE stone SET vertices_mm = substr(vertices_mm, 1, 24)", "does not exist"},
        {"UPDATE stone SET name = x'35'", "not text"},
        {"UPDATE stone SET material = 'cheese'", "cheese"},
        {"UPDATE stone SET scale_ct = 'heavy'", "not a number"},
        {"UPDATE stone SET scale_ct = -2.0", "above zero"},
        {"UPDATE stone SET triangles = substr(triangles, 1, 84)", "open"},
        {"DELETE FROM stone", "no stone"},
        {"UPDATE defect SET severity = 77", "severity"},
        {"UPDATE defect SET shape = 'cloud of doom'", "unknown shape"},
        {"UPDATE defect SET numbers = x''", "damaged"},
        {"UPDATE defect SET cluster = 5", "cluster"},
        {"UPDATE layout SET size_mm = -1.0", "placement"},
        {"UPDATE layout SET rotation_w = 9.0", "placement"},
        {"UPDATE layout SET proportions = '{'", "proportions"},
        {"DROP TABLE layout", "not a stone file"},
    };
    for (const auto& [change, reason] : cases) {
        fs::copy_file(fs::path(MACLE_TEST_DATA) / "old" / "form_1.macle", file_,
                      fs::copy_options::overwrite_existing);
        sql(change);
        EXPECT_THAT(refusal(), HasSubstr(reason)) << change;
    }
}

class OlderForm : public StoneFileTest, public testing::WithParamInterface<int> {};
INSTANTIATE_TEST_SUITE_P(Forms, OlderForm, testing::Values(2, 3));

TEST_P(OlderForm, IsUpgradedWithItsHistoryAndItsApproval) {
    const std::string name = "form_" + std::to_string(GetParam()) + ".macle";
    fs::copy_file(fs::path(MACLE_TEST_DATA) / "old" / name, file_);
    const StoneFile opened = openStoneFile(file_);
    EXPECT_TRUE(opened.notes.upgraded);
    EXPECT_EQ(opened.notes.form, GetParam());
    ASSERT_EQ(opened.layouts.size(), 1u);
    EXPECT_EQ(opened.layouts[0].main().placement.size_mm, 8.25);
    EXPECT_TRUE(opened.layouts[0].main().edits.empty());
    EXPECT_EQ(opened.history.steps.size(), 1u);
    ASSERT_EQ(opened.approvals.size(), 1u);
    EXPECT_TRUE(opened.approvals[0].intact);
    // What was approved then is what it stands on now.
    EXPECT_EQ(layoutState(opened.stone, opened.layouts[0], opened.approvals),
              LayoutState::Approved);
    saveStoneFile(opened, file_);
    const StoneFile again = openStoneFile(file_);
    EXPECT_FALSE(again.notes.upgraded);
    EXPECT_EQ(layoutState(again.stone, again.layouts[0], again.approvals), LayoutState::Approved);
}

TEST_F(StoneFileTest, FacetEditsOfALayoutAreKeptInFileListAndApproval) {
    StoneFile content = fullStone();
    Layout& layout = content.layouts.front();
    layout.main().cut = "round";
    layout.main().proportions.clear();
    layout.main().edits = {{.what = FacetEdit::What::Tilt,
                            .facet = "star",
                            .wholeRow = true,
                            .tilt_deg = 0.25,
                            .hold_percent = 16.0},
                           {.what = FacetEdit::What::Remove, .facet = "pavilion main 3"}};
    const LayoutState before = layoutState(content.stone, layout, content.approvals);
    content.approvals.push_back(approve(content.stone, layout, "A. Planner", "", {}));
    saveStoneFile(content, file_);
    const StoneFile opened = openStoneFile(file_);
    EXPECT_EQ(opened.layouts.front().main().edits, layout.main().edits);
    EXPECT_EQ(layoutState(opened.stone, opened.layouts.front(), opened.approvals),
              LayoutState::Approved);
    Layout unchanged = layout;
    unchanged.main().edits.clear();
    EXPECT_EQ(layoutState(opened.stone, unchanged, opened.approvals), LayoutState::Draft);
    EXPECT_EQ(before, LayoutState::Draft);

    const fs::path list = folder_ / "layouts.json";
    writeLayouts(opened.layouts, list);
    EXPECT_EQ(readLayouts(list).front().main().edits, layout.main().edits);
    EXPECT_EQ(designOf(layout.main()).changes,
              (std::vector<std::string>{"Tilt every star by 0.25 deg", "Remove pavilion main 3"}));
}

TEST_F(StoneFileTest, SawsAndFurtherStonesAreKeptInFileListAndApproval) {
    StoneFile content = fullStone();
    Layout& layout = content.layouts.front();
    layout.saws = {{.piece = 0,
                    .normal = Eigen::Vector3d(0.1, 0.2, 1.0).normalized(),
                    .offset_mm = 0.3,
                    .kerf_mm = 0.08},
                   {.piece = 1,
                    .normal = Eigen::Vector3d::UnitX(),
                    .offset_mm = -0.2,
                    .kerf_mm = 0.2,
                    .v = VKerf{Eigen::Vector3d::UnitY(), 0.05}}};
    PlannedStone second = layout.main();
    second.piece = 2;
    second.cut = "princess";
    second.proportions.clear();
    second.edits = {{.what = FacetEdit::What::Remove, .facet = "culet"}};
    second.placement.size_mm = 1.75;
    second.rules.allowance_mm = 0.02;
    layout.stones.push_back(second);
    content.approvals.push_back(approve(content.stone, layout, "A. Planner", "", {}));
    saveStoneFile(content, file_);
    const StoneFile opened = openStoneFile(file_);
    EXPECT_EQ(opened.layouts.front(), layout);
    EXPECT_EQ(approvedLayout(opened.approvals.back()), layout);
    EXPECT_EQ(layoutState(opened.stone, opened.layouts.front(), opened.approvals),
              LayoutState::Approved);
    for (const auto& change : std::vector<std::function<void(Layout&)>>{
             [](Layout& l) { l.saws[1].v->exit_mm = 0.06; }, [](Layout& l) { l.saws.pop_back(); },
             [](Layout& l) { l.stones[1].piece = 1; }, [](Layout& l) { l.stones.pop_back(); }}) {
        Layout other = layout;
        change(other);
        EXPECT_EQ(layoutState(opened.stone, other, opened.approvals), LayoutState::Draft);
    }
    const fs::path list = folder_ / "layouts.json";
    writeLayouts(opened.layouts, list);
    EXPECT_EQ(readLayouts(list).front(), layout);
}

TEST_F(StoneFileTest, SawsAndStonesThatCannotBeAreRefusedWithTheirPlace) {
    const std::string stone =
        R"("cut": "round", "proportions": {}, "allowance_mm": 0, "placement": {
            "quaternion_wxyz": [1, 0, 0, 0], "translation_mm": [0, 0, 0], "size_mm": 2})";
    const std::pair<std::string, std::string> cases[] = {
        {R"("piece": 2)", "piece"},
        {R"("saws": 5)", "saws"},
        {R"("saws": [{"piece": 2, "normal": [0, 0, 1], "offset_mm": 0}])", "saws[0]"},
        {R"("saws": [{"normal": [0, 0, 0], "offset_mm": 0}])", "normal"},
        {R"("more_stones": {})", "more_stones"},
        {R"("more_stones": [5])", "more_stones[0]"},
        {R"("more_stones": [{"name": "x", )" + stone + "}]", "name"},
        {R"("more_stones": [{"piece": 3, )" + stone + "}]", "piece"},
    };
    for (const auto& [extra, place] : cases) {
        const fs::path list = folder_ / "layouts.json";
        std::ofstream(list) << "{\"layouts\": [{\"name\": \"L\", " << stone << ", " << extra
                            << "}]}";
        try {
            readLayouts(list);
            ADD_FAILURE() << extra;
        } catch (const Error& error) {
            EXPECT_EQ(error.code(), ErrorCode::BadInput) << extra;
            EXPECT_THAT(error.message(), HasSubstr(place)) << extra;
        }
    }
}

TEST_F(StoneFileTest, AWorksOwnCutTravelsWithTheStone) {
    const std::vector<FacetEdit> edits = {
        {.what = FacetEdit::What::Tilt, .facet = "star", .wholeRow = true, .tilt_deg = 0.5}};
    const auto write = [&](double tilt_deg) {
        std::vector<FacetEdit> changed = edits;
        changed[0].tilt_deg = tilt_deg;
        return editedCutFile("round", "works_round", "Round of the works", {}, changed);
    };
    const std::string first = write(0.5);
    EXPECT_TRUE(learnCuts({first}, "test").empty());
    StoneFile content = fullStone();
    content.layouts.front().main().cut = "works_round";
    content.layouts.front().main().proportions.clear();
    content.layouts.front().main().edits.clear();
    content.approvals.push_back(
        approve(content.stone, content.layouts.front(), "A. Planner", "", {}));
    saveStoneFile(content, file_);
    const auto starAngle = [](const Layout& layout) {
        const Design design = designOf(layout.main());
        for (const Facet& facet : design.parts.front().facets)
            if (facet.name == "star 1") return facetAngle_deg(facet);
        return -1.0;
    };
    const double angle = starAngle(content.layouts.front());
    EXPECT_TRUE(openStoneFile(file_).notes.replacedCuts.empty());

    // Elsewhere the name means another cut: the stone brings its own.
    EXPECT_EQ(learnCuts({write(1.0)}, "test"), std::vector<std::string>{"works_round"});
    EXPECT_NEAR(starAngle(content.layouts.front()), angle + 0.5, 1e-9);
    EXPECT_EQ(layoutState(content.stone, content.layouts.front(), content.approvals),
              LayoutState::Draft);
    const StoneFile opened = openStoneFile(file_);
    EXPECT_EQ(opened.notes.replacedCuts, std::vector<std::string>{"works_round"});
    EXPECT_EQ(starAngle(opened.layouts.front()), angle);
    EXPECT_EQ(layoutState(opened.stone, opened.layouts.front(), opened.approvals),
              LayoutState::Approved);

    // A name of the program's own is refused, and so is what is no cut.
    const fs::path list = folder_ / "layouts.json";
    writeLayouts(opened.layouts, list);
    std::string text = bytesOf(list);
    for (std::size_t at; (at = text.find("works_round")) != std::string::npos;)
        text.replace(at, 11, "round");
    putBytes(list, text);
    EXPECT_THROW(readLayouts(list), Error);
    EXPECT_EQ(cutFiles("round").size(), 0u);
    EXPECT_EQ(cutFiles("works_round"), std::vector<std::string>{first});
}

TEST_F(StoneFileTest, AFlippedByteIsRefusedOrChangesNothingAndACutIsRefused) {
    saveStoneFile(fullStone(), file_);
    const std::string whole = bytesOf(file_);
    std::mt19937 random(5);
    int refused = 0, harmless = 0;
    for (int i = 0; i < 120; ++i) {
        std::string bad = whole;
        if (i % 3 == 0) {
            bad.resize(random() % whole.size());
        } else {
            const std::size_t at = i % 3 == 1 ? random() % 4096 : random() % whole.size();
            bad[at] = static_cast<char>(bad[at] ^ static_cast<char>(1 + random() % 255));
        }
        putBytes(file_, bad);
        if (refusal() != "opened") {
            ++refused;
            continue;
        }
        ++harmless;
        ASSERT_NE(i % 3, 0) << "a cut was not noticed";
        // In room that holds nothing: all of the content is what was saved.
        const StoneFile opened = openStoneFile(file_);
        const StoneFile saved = fullStone();
        ASSERT_EQ(opened.stone.rough.mesh.vertices, saved.stone.rough.mesh.vertices);
        ASSERT_EQ(opened.stone.name, saved.stone.name);
        ASSERT_EQ(opened.stone.defects.size(), saved.stone.defects.size());
        ASSERT_EQ(opened.layouts[1].main().placement.size_mm,
                  saved.layouts[1].main().placement.size_mm);
    }
    EXPECT_GE(refused, 70);
    EXPECT_EQ(refused + harmless, 120);
}

TEST_F(StoneFileTest, ASecondProgramIsToldAndMayFollowTheFirst) {
    saveStoneFile(fullStone(), file_);
    OpenLock first, second;
    EXPECT_TRUE(first.take(file_));
    EXPECT_FALSE(second.take(file_));
    EXPECT_FALSE(second.held());
    EXPECT_EQ(OpenLock::holderOf(file_), "process " + std::to_string(::getpid()));
    // Reading goes on; the saved file is another one, which the saver takes anew.
    EXPECT_EQ(refusal(), "opened");
    saveStoneFile(fullStone(), file_);
    EXPECT_TRUE(first.take(file_));
    EXPECT_FALSE(second.take(file_));
    first.release();
    EXPECT_TRUE(second.take(file_));
    EXPECT_THROW(first.take(folder_ / "missing.macle"), Error);
}

TEST_F(StoneFileTest, LayoutsGoOutAndComeBackAsJson) {
    const StoneFile content = fullStone();
    const fs::path list = folder_ / "layouts.json";
    writeLayouts(content.layouts, list);
    const auto again = readLayouts(list);
    ASSERT_EQ(again.size(), 2u);
    EXPECT_EQ(again[0].name, content.layouts[0].name);
    EXPECT_EQ(again[1].main().placement.translation_mm,
              content.layouts[1].main().placement.translation_mm);
    EXPECT_EQ(again[1].main().proportions, content.layouts[1].main().proportions);
    const std::pair<const char*, const char*> bad[] = {
        {"{", "line 1: this is not readable"},
        {"[]", "must be an object"},
        {"{}", "layouts: it is missing"},
        {"{\"layouts\": 3}", "must be a list"},
        {"{\"layouts\": [{\"name\": 3}]}", "layout 1, name: it must be a text"},
        {"{\"layouts\": [{\"nam\": 3}]}", "layout 1: there is no field 'nam'"},
    };
    for (const auto& [text, reason] : bad) {
        putBytes(list, text);
        try {
            readLayouts(list);
            ADD_FAILURE() << text;
        } catch (const Error& error) {
            EXPECT_THAT(error.message(), HasSubstr(reason));
            EXPECT_THAT(error.remedy(), HasSubstr("schema"));
        }
    }
}

// MACLE_LARGE=1 measures what is promised for a million triangles; by default a tenth is saved and
// opened, for a busy machine can keep no times.
TEST_F(StoneFileTest, ALargeStoneIsSavedAndOpened) {
    const bool large = std::getenv("MACLE_LARGE") != nullptr;
    StoneFile content;
    content.stone = sampleStone(large ? 1'000'000 : 100'000);
    content.layouts = {test::someLayout()};
    const auto seconds = [](auto work) {
        const auto start = std::chrono::steady_clock::now();
        work();
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    };
    const double saving = seconds([&] { saveStoneFile(content, file_); });
    StoneFile opened;
    const double opening = seconds([&] { opened = openStoneFile(file_); });
    EXPECT_EQ(opened.stone.rough.mesh.vertices, content.stone.rough.mesh.vertices);
    EXPECT_EQ(opened.stone.rough.mesh.triangles, content.stone.rough.mesh.triangles);
    std::printf("%zu triangles: saved in %.2f s, opened in %.2f s\n",
                content.stone.rough.mesh.triangles.size(), saving, opening);
    if (large) {
        EXPECT_LT(saving, 2.0);
        EXPECT_LT(opening, 3.0);
    }
}

TEST(SampleStones, AreWhatTheirGeneratorMakes) {
    const Stone committed = openStoneFile(MACLE_SAMPLES "/heron_7.macle").stone;
    const Stone made = sampleStone();
    EXPECT_EQ(committed.name, made.name);
    EXPECT_EQ(committed.rough.mesh.triangles, made.rough.mesh.triangles);
    ASSERT_EQ(committed.rough.mesh.vertices.size(), made.rough.mesh.vertices.size());
    // Coordinates are whole tenths of a micrometre, so that another libm cannot move them by less.
    for (std::size_t i = 0; i < made.rough.mesh.vertices.size(); ++i)
        EXPECT_LT((committed.rough.mesh.vertices[i] - made.rough.mesh.vertices[i]).norm(), 2e-4);
    EXPECT_EQ(committed.defects.size(), made.defects.size());
    EXPECT_EQ(committed.clusters.size(), 3u);
    EXPECT_NEAR(scanWeight_ct(committed), 19.02, 0.005);

    const Stone octahedron = openStone(MACLE_SAMPLES "/octahedron.obj").stone;
    EXPECT_NEAR(octahedron.rough.volume_mm3, 1000.0 * std::sqrt(2.0) / 3.0, 1e-9);
}

}  // namespace
}  // namespace macle
