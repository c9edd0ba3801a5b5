// Stones and scratch folders for the tests of the stone file.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "core/archive/stone_file.h"
#include "core/stone/sample.h"

namespace macle::test {

namespace fs = std::filesystem;

class InScratchFolder : public ::testing::Test {
  protected:
    void SetUp() override {
        const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
        folder_ = fs::temp_directory_path() /
                  ("macle_archive_" + std::string(info->name()) + std::to_string(::getpid()));
        fs::create_directories(folder_);
        file_ = folder_ / "stone.macle";
    }
    void TearDown() override { fs::remove_all(folder_); }

    static std::size_t entriesIn(const fs::path& folder) {
        return static_cast<std::size_t>(
            std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
    }

    fs::path folder_;
    fs::path file_;
};

inline Layout someLayout() {
    Layout layout;
    layout.name = "Layout \xc3\xa9";
    layout.main().proportions = {{"table_percent", 57.25}, {"crown_deg", 34.1}};
    layout.main().placement.rotation = Eigen::Quaterniond(0.5, -0.5, 0.5, -0.5);
    layout.main().placement.translation_mm = {0.1, -2.0 / 3.0, 1e-9};
    layout.main().placement.size_mm = 7.123456789;
    layout.main().rules.allowance_mm = 0.05;
    return layout;
}

// Small: a handful of database pages, so that every operation of a save can be struck.
inline StoneFile smallStone(const std::string& name) {
    StoneFile content;
    content.stone = octahedronStone(5.0, 3);
    content.stone.name = name;
    content.layouts = {someLayout()};
    return content;
}

// With one of everything.
inline StoneFile fullStone() {
    StoneFile content;
    content.stone = sampleStone(2000);
    Stone& stone = content.stone;
    Defect mesh;
    mesh.name = "mesh defect";
    mesh.kind = DefectKind::GrainLine;
    mesh.policy = DefectPolicy::MayStayAtEdge;
    mesh.shape = octahedronStone(0.5).rough.mesh;
    stone.defects.push_back(mesh);
    stone.trusted = TrustedWeight::Scale;
    stone.axes = axesFromFaces({{FaceForm::Octahedron, {1.0, 1.1, 0.9}},
                                {FaceForm::Cube, {0.02, -0.01, 1.0}}})
                     .axes;
    stone.colour.body = {"K", "yellow"};
    stone.colour.fluorescence = {FluorescenceStrength::Medium, "blue"};
    stone.colour.zones = {{"brown rim", octahedronStone(0.75).rough.mesh, "brown", 2},
                          {"core", Ellipsoid{{0.1, 0.2, 0.3}, {1.0, 2.0, 3.0}}, "yellow", 4}};
    content.layouts = {someLayout()};
    content.layouts.push_back(someLayout());
    content.layouts.back().name = "Layout 2";
    return content;
}

inline std::string bytesOf(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

inline void putBytes(const fs::path& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary | std::ios::trunc) << bytes;
}

}  // namespace macle::test
