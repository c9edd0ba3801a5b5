// Files that are no stone: each gets the message that tests/data/bad/expected.tsv asks for, and
// files that can be mended without moving the surface get the report line of mended.tsv.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/defect.h"
#include "core/stone/intake.h"
#include "core/stone/mesh_file.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

namespace fs = std::filesystem;
using shapes::ScratchFolder;
using testing::HasSubstr;

const fs::path kBad = fs::path(MACLE_TEST_DATA) / "bad";

std::vector<std::vector<std::string>> table(const fs::path& file) {
    std::vector<std::vector<std::string>> rows;
    std::ifstream stream(file);
    for (std::string line; std::getline(stream, line);) {
        std::istringstream words(line);
        rows.emplace_back();
        for (std::string word; std::getline(words, word, '\t');)
            rows.back().push_back(word);
    }
    return rows;
}

std::string refusalOf(const fs::path& file) {
    try {
        takeInFile(file);
    } catch (const Error& fault) {
        EXPECT_EQ(fault.code(), ErrorCode::BadInput) << file;
        EXPECT_FALSE(fault.remedy().empty()) << file;
        return fault.what();
    }
    return "taken in";
}

TEST(HostileFiles, EachIsRefusedWithItsOwnMessage) {
    const auto rows = table(kBad / "expected.tsv");
    EXPECT_GE(rows.size(), 60u);
    for (const auto& row : rows) {
        ASSERT_EQ(row.size(), 2u);
        ASSERT_GT(row[1].size(), 9u) << row[0];
        const std::string message = refusalOf(kBad / row[0]);
        EXPECT_THAT(message, HasSubstr(row[1])) << row[0];
        EXPECT_THAT(message, HasSubstr(row[0])) << "the file must be named";
        EXPECT_THAT(message, testing::Not(HasSubstr("nan,"))) << row[0];
    }
}

TEST(HostileFiles, WhatCanBeMendedIsMendedAndReported) {
    const auto rows = table(kBad / "mended.tsv");
    EXPECT_GE(rows.size(), 8u);
    for (const auto& row : rows) {
        ASSERT_EQ(row.size(), 4u);
        const Rough rough = takeInFile(kBad / row[0]);
        EXPECT_NEAR(rough.volume_mm3, 8.0, 1e-12) << row[0];
        EXPECT_EQ(rough.mesh.triangles.size(), row[0] == "vertex_on_edge.obj" ? 14u : 12u);
        bool found = false;
        for (const Finding& line : rough.report.findings) {
            if (line.what == row[1]) {
                found = true;
                EXPECT_EQ(line.count, parseInteger(row[2])) << row[0];
                EXPECT_EQ(line.action, row[3]) << row[0];
            } else if (line.count == 0) {
                EXPECT_EQ(line.action, "none needed") << row[0];
            }
        }
        EXPECT_TRUE(found) << row[0];
    }
}

TEST(HostileFiles, EveryFileOfTheFolderIsInOneOfTheTables) {
    std::vector<std::string> named = {"expected.tsv", "mended.tsv"};
    for (const char* name : {"expected.tsv", "mended.tsv"})
        for (const auto& row : table(kBad / name))
            named.push_back(row[0]);
    std::vector<std::string> there;
    for (const auto& entry : fs::directory_iterator(kBad))
        there.push_back(entry.path().filename().string());
    EXPECT_THAT(there, testing::UnorderedElementsAreArray(named));
}

TEST(HostileFiles, FoldersDevicesAndMissingFilesAreToldApart) {
    const ScratchFolder folder;
    fs::create_directory(folder / "folder.stl");
    EXPECT_THAT(refusalOf(folder / "folder.stl"), HasSubstr("is not an ordinary file"));
    EXPECT_THAT(refusalOf("/dev/zero"), HasSubstr("is not an ordinary file"));
    try {
        takeInFile(folder / "nothing.stl");
        FAIL();
    } catch (const Error& fault) {
        EXPECT_EQ(fault.code(), ErrorCode::NotFound);
        EXPECT_THAT(fault.message(), HasSubstr("There is no file"));
    }
}

TEST(HostileFiles, AFileOfManyGigabytesIsRefusedBeforeItIsRead) {
    const ScratchFolder folder;
    const fs::path file = folder.write("huge.stl", "solid");
    std::error_code fault;
    fs::resize_file(file, std::uintmax_t{3} << 30, fault);  // sparse: takes no room on the disk
    if (fault) GTEST_SKIP() << "no room for sparse files here";
    EXPECT_THAT(refusalOf(file), HasSubstr("is larger than 2048 MB"));
}

TEST(HostileFiles, LongLinesAndManyEmptyRecordsAreJustRead) {
    const ScratchFolder folder;
    EXPECT_THAT(refusalOf(folder.write("a.obj", "v " + std::string(1 << 20, '9') + " 0 0\n")),
                HasSubstr("is not a finite number"));
    EXPECT_THAT(refusalOf(folder.write("b.obj", "v 0 0 0\n" + std::string(1 << 20, '\\'))),
                HasSubstr("It holds no faces"));
    EXPECT_THAT(refusalOf(folder.write("c.stl", "solid " + std::string(1 << 20, '\n'))),
                HasSubstr("without 'endsolid'"));
    EXPECT_THAT(refusalOf(folder.write("d.ply", "ply\n" + std::string(1 << 20, '\n'))),
                HasSubstr("has no 'end_header'"));
    std::string header = "ply\nformat ascii 1.0\n";
    for (int i = 0; i < 20000; ++i)
        header += "element e 9223372036854775807\n";
    EXPECT_THAT(refusalOf(folder.write("e.ply", header + "end_header\n")),
                HasSubstr("one element 'face'"));
}

// Every fault that flipping, cutting and doubling bytes of good files can make must end in an
// Error or in a sound rough. The sanitizer build of the suite makes this test sharp.
TEST(HostileFiles, DamagedFilesEndInAnErrorOrInASoundRough) {
    const ScratchFolder folder;
    std::mt19937 random(20);
    const TriangleMesh good = shapes::octahedron(3.0);
    writeMeshFile(good, folder / "good.stl");
    writeMeshFile(good, folder / "good.ply");
    writeMeshFile(good, folder / "good.obj");
    const std::vector<std::pair<std::string, fs::path>> sources = {
        {".stl", folder / "good.stl"},           {".ply", folder / "good.ply"},
        {".obj", folder / "good.obj"},           {".ply", kBad / "no_z.ply"},
        {".stl", kBad / "stray_word.stl"},       {".ply", kBad / "nan_big_endian.ply"},
        {".obj", kBad / "vertex_on_edge.obj"},   {".stl", kBad / "doubled_all.stl"},
        {".obj", kBad / "doubled_triangle.obj"}, {".obj", kBad / "pinched.obj"}};
    int takenIn = 0, refused = 0;
    for (const auto& [extension, source] : sources) {
        const std::string original = shapes::bytesOf(source);
        ASSERT_FALSE(original.empty()) << source;
        for (int round = 0; round < 250; ++round) {
            std::string bytes = original;
            const auto pick = [&](std::size_t below) {
                return std::uniform_int_distribution<std::size_t>(0, below - 1)(random);
            };
            const std::size_t changes = 1 + pick(4);
            for (std::size_t i = 0; i < changes && !bytes.empty(); ++i) {
                const std::size_t at = pick(bytes.size());
                switch (pick(5)) {
                    case 0:
                        bytes[at] = static_cast<char>(bytes[at] ^ (1 << pick(8)));
                        break;
                    case 1:
                        bytes[at] = "0123456789-e. \n\xff"[pick(16)];
                        break;
                    case 2:
                        bytes.erase(at, 1 + pick(20));
                        break;
                    case 3:
                        bytes.insert(at, bytes.substr(at, 1 + pick(60)));
                        break;
                    default:
                        if (pick(8) == 0) bytes.resize(at);
                        break;
                }
            }
            const fs::path file = folder.write("damaged" + extension, bytes);
            try {
                const Rough rough = takeInFile(file);
                ++takenIn;
                ASSERT_GT(rough.volume_mm3, 0.0);
                ASSERT_NEAR(signedVolume_mm3(rough.mesh), rough.volume_mm3, 1e-9);
            } catch (const Error& fault) {
                ++refused;
                ASSERT_NE(fault.code(), ErrorCode::Internal) << fault.what();
            }
        }
    }
    EXPECT_GT(takenIn, 100);
    EXPECT_GT(refused, 1000);
}

}  // namespace
}  // namespace macle
