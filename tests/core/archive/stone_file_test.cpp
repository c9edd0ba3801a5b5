#include "core/archive/stone_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>

#include "core/base/error.h"
#include "core/stone/sample.h"

namespace macle {
namespace {

namespace fs = std::filesystem;

class StoneFileTest : public ::testing::Test {
  protected:
    void SetUp() override {
        const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
        folder_ = fs::temp_directory_path() /
                  ("macle_archive_" + std::string(info->name()) + std::to_string(::getpid()));
        fs::create_directories(folder_);
        file_ = folder_ / "stone.macle";
    }
    void TearDown() override { fs::remove_all(folder_); }

    static StoneFile sample() {
        StoneFile content;
        content.stone = sampleStone(2000);
        Defect mesh;
        mesh.name = "mesh defect";
        mesh.kind = DefectKind::GrainLine;
        mesh.policy = DefectPolicy::MayStay;
        mesh.shape = octahedronStone(0.5).rough.mesh;
        content.stone.defects.push_back(mesh);
        Layout layout;
        layout.name = "Layout é";
        layout.proportions = {{"table_percent", 57.25}, {"crown_deg", 34.1}};
        layout.placement.rotation = Eigen::Quaterniond(0.5, -0.5, 0.5, -0.5);
        layout.placement.translation_mm = {0.1, -2.0 / 3.0, 1e-9};
        layout.placement.size_mm = 7.123456789;
        layout.rules.allowance_mm = 0.05;
        content.layouts = {layout};
        return content;
    }

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

    fs::path folder_;
    fs::path file_;
};

TEST_F(StoneFileTest, GivesBackEverythingToTheLastBit) {
    const StoneFile saved = sample();
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
    ASSERT_EQ(opened.layouts.size(), 1u);
    const Layout& layout = opened.layouts[0];
    EXPECT_EQ(layout.name, saved.layouts[0].name);
    EXPECT_EQ(layout.proportions, saved.layouts[0].proportions);
    EXPECT_EQ(layout.placement.size_mm, saved.layouts[0].placement.size_mm);
    EXPECT_EQ(layout.placement.translation_mm, saved.layouts[0].placement.translation_mm);
    EXPECT_EQ(layout.placement.rotation.coeffs(), saved.layouts[0].placement.rotation.coeffs());
    EXPECT_EQ(layout.rules.allowance_mm, 0.05);
}

TEST_F(StoneFileTest, LeavesNoSideFilesBehind) {
    saveStoneFile(sample(), file_);
    saveStoneFile(sample(), file_);
    openStoneFile(file_);
    int files = 0;
    for ([[maybe_unused]] const auto& entry : fs::directory_iterator(folder_))
        ++files;
    EXPECT_EQ(files, 1);
}

TEST_F(StoneFileTest, AFailedSaveKeepsTheOldFile) {
    saveStoneFile(sample(), file_);
    StoneFile other = sample();
    other.stone.name = "other";
    EXPECT_THROW(saveStoneFile(other, folder_ / "missing" / "stone.macle"), Error);
    fs::create_directory(folder_ / "in the way");
    EXPECT_THROW(saveStoneFile(other, folder_ / "in the way"), Error);
    EXPECT_EQ(openStoneFile(file_).stone.name, sample().stone.name);
}

TEST_F(StoneFileTest, OpensAReadOnlyFile) {
    saveStoneFile(sample(), file_);
    fs::permissions(file_, fs::perms::owner_read);
    EXPECT_EQ(openStoneFile(file_).stone.name, sample().stone.name);
}

TEST_F(StoneFileTest, RefusesANewerFileWithAReason) {
    saveStoneFile(sample(), file_);
    sql("PRAGMA user_version = 99");
    EXPECT_THAT(refusal(), ::testing::HasSubstr("newer"));
}

TEST_F(StoneFileTest, RefusesAForeignDatabase) {
    sql("CREATE TABLE notes(text TEXT)");
    EXPECT_THAT(refusal(), ::testing::HasSubstr("not a stone file"));
}

TEST_F(StoneFileTest, RefusesTriggersAndViews) {
    saveStoneFile(sample(), file_);
    sql("CREATE TRIGGER t AFTER INSERT ON layout BEGIN DELETE FROM stone; END");
    EXPECT_THAT(refusal(), ::testing::HasSubstr("triggers"));
}

TEST_F(StoneFileTest, RefusesTextEmptyAndMissingFiles) {
    EXPECT_THAT(refusal(), ::testing::HasSubstr("is not a file"));
    std::ofstream(file_) << "";
    EXPECT_THAT(refusal(), ::testing::HasSubstr("not a stone file"));
    std::ofstream(file_) << "solid but not a database, and long enough to have a header of its own "
                            "so that nothing mistakes it for an empty one ..............";
    EXPECT_THAT(refusal(), ::testing::HasSubstr("not a stone file"));
}

TEST_F(StoneFileTest, RefusesValuesThatMakeNoSense) {
    const std::pair<const char*, const char*> cases[] = {
        {"UPDATE stone SET vertices_mm = x'00'", "cut short"},
        {"UPDATE stone SET vertices_mm = substr(vertices_mm, 1, 2400)", "does not exist"},
        {"UPDATE stone SET name = x'35'", "not text"},
        {"UPDATE stone SET scale_ct = 'heavy'", "not a number"},
        {"DELETE FROM stone", "no stone"},
        {"UPDATE defect SET severity = 77", "severity"},
        {"UPDATE defect SET shape = 'cloud of doom'", "unknown shape"},
        {"UPDATE defect SET numbers = x''", "damaged"},
        {"UPDATE layout SET size_mm = -1.0", "placement"},
        {"UPDATE layout SET rotation_w = 9.0", "placement"},
        {"UPDATE layout SET proportions = '{'", "proportions"},
        {"DROP TABLE layout", "not a stone file"},
    };
    for (const auto& [change, reason] : cases) {
        saveStoneFile(sample(), file_);
        sql(change);
        EXPECT_THAT(refusal(), ::testing::HasSubstr(reason)) << change;
    }
}

TEST_F(StoneFileTest, AFlippedByteOrACutNeverCrashes) {
    saveStoneFile(sample(), file_);
    std::ifstream in(file_, std::ios::binary);
    const std::string whole((std::istreambuf_iterator<char>(in)), {});
    std::mt19937 random(5);
    int refused = 0;
    for (int i = 0; i < 60; ++i) {
        std::string bad = whole;
        if (i % 3 == 0)
            bad.resize(random() % whole.size());
        else
            bad[i % 3 == 1 ? random() % 4096 : random() % whole.size()] ^=
                static_cast<char>(1 + random() % 255);
        std::ofstream(file_, std::ios::binary | std::ios::trunc) << bad;
        if (refusal() != "opened") ++refused;
    }
    EXPECT_GE(refused, 20);  // every cut is noticed; a flipped byte in a coordinate need not be
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
