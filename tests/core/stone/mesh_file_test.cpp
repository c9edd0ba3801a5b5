#include "core/stone/mesh_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <bit>
#include <clocale>
#include <cstring>
#include <locale>

#include "core/base/error.h"
#include "core/stone/defect.h"
#include "core/stone/intake.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;
using shapes::ScratchFolder;
using testing::HasSubstr;

void expectSame(const TriangleMesh& one, const TriangleMesh& two) {
    ASSERT_EQ(one.vertices.size(), two.vertices.size());
    EXPECT_EQ(one.triangles, two.triangles);
    for (std::size_t i = 0; i < one.vertices.size(); ++i)
        ASSERT_EQ(one.vertices[i], two.vertices[i]) << "vertex " << i;
}

std::string messageOf(const std::function<void()>& job) {
    try {
        job();
    } catch (const Error& fault) {
        return fault.what();
    }
    return "no error";
}

template <class Number>
std::string raw(Number value, bool bigEndian) {
    std::string bytes(sizeof value, '\0');
    std::memcpy(bytes.data(), &value, sizeof value);
    if (bigEndian != (std::endian::native == std::endian::big))
        std::reverse(bytes.begin(), bytes.end());
    return bytes;
}

TEST(MeshFile, PlyAndObjGiveBackEveryDigit) {
    const ScratchFolder folder;
    const TriangleMesh mesh = shapes::bumpy(12, std::numbers::pi);
    for (const char* name : {"a.ply", "a.obj", "A.PLY", "A.OBJ"}) {
        writeMeshFile(mesh, folder / name);
        expectSame(readMeshFile(folder / name), mesh);
    }
}

TEST(MeshFile, StlGivesBackTheTrianglesInSinglePrecision) {
    const ScratchFolder folder;
    const TriangleMesh mesh = shapes::bumpy(12, std::numbers::pi);
    writeMeshFile(mesh, folder / "a.stl");
    EXPECT_EQ(shapes::bytesOf(folder / "a.stl").size(), 84 + 50 * mesh.triangles.size());
    const TriangleMesh back = readMeshFile(folder / "a.stl");
    const TriangleMesh loose = shapes::unwelded(mesh);
    ASSERT_EQ(back.vertices.size(), loose.vertices.size());
    for (std::size_t i = 0; i < back.vertices.size(); ++i)
        EXPECT_EQ(back.vertices[i], shapes::inSinglePrecision(loose.vertices[i]));
}

TEST(MeshFile, WhatIsWrittenIsTakenInAgain) {
    const ScratchFolder folder;
    const Rough rough = takeIn(shapes::bumpy(12, 4.0));
    for (const char* name : {"a.stl", "a.ply", "a.obj"}) {
        writeMeshFile(rough.mesh, folder / name);
        EXPECT_NEAR(takeInFile(folder / name).volume_mm3 / rough.volume_mm3, 1.0, 1e-6) << name;
    }
}

TEST(MeshFile, WritingReplacesTheFileAsAWhole) {
    const ScratchFolder folder;
    writeMeshFile(shapes::bumpy(12, 4.0), folder / "a.obj");
    writeMeshFile(shapes::octahedron(2.0), folder / "a.obj");
    EXPECT_EQ(readMeshFile(folder / "a.obj").triangles.size(), 8u);
    EXPECT_FALSE(std::filesystem::exists(folder / "a.obj.partial"));
}

TEST(MeshFile, WritingSaysWhyItCannot) {
    const ScratchFolder folder;
    const TriangleMesh mesh = shapes::octahedron(1.0);
    EXPECT_THAT(messageOf([&] { writeMeshFile(mesh, folder / "a.xyz"); }),
                HasSubstr("cannot be written as '.xyz'"));
    EXPECT_THAT(messageOf([&] { writeMeshFile(mesh, folder / "nowhere" / "a.stl"); }),
                HasSubstr("cannot be written"));
    TriangleMesh broken = mesh;
    broken.triangles[0][1] = 6;
    EXPECT_THROW(writeMeshFile(broken, folder / "a.stl"), Error);
}

TEST(MeshFile, ReadsTextStlInAnyCaseAndWithSeveralSolids) {
    const ScratchFolder folder;
    const auto file = folder.write("a.stl",
                                   "SOLID one two\r\n Facet NORMAL nan nan nan\r\n outer loop\r\n"
                                   "vertex 0 0 0\r\nvertex +1.5e0 0 0\r\nVERTEX 0 1 0\r\n"
                                   "endloop\r\nendfacet\r\nendsolid one two\r\n"
                                   "solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n"
                                   "vertex 0 -.5 0\nvertex 0 1 7.\nendloop\nendfacet\nendsolid");
    const TriangleMesh mesh = readMeshFile(file);
    ASSERT_EQ(mesh.triangles.size(), 2u);
    EXPECT_EQ(mesh.vertices[1], Vector3d(1.5, 0, 0));
    EXPECT_EQ(mesh.vertices[4], Vector3d(0, -0.5, 0));
    EXPECT_EQ(mesh.vertices[5], Vector3d(0, 1, 7));
}

TEST(MeshFile, ReadsPlyOfEveryCodingAndPassesOverWhatItDoesNotNeed) {
    const ScratchFolder folder;
    const TriangleMesh octahedron = shapes::octahedron(2.0);
    for (const bool big : {false, true}) {
        std::string bytes = std::string("ply\r\nformat binary_") + (big ? "big" : "little") +
                            "_endian 1.0\r\ncomment made up\r\nobj_info none\r\n"
                            "element camera 2\r\nproperty short zoom\r\n"
                            "property list uint8 float64 path\r\n"
                            "element vertex 6\r\nproperty uchar red\r\nproperty float64 z\r\n"
                            "property double x\r\nproperty list ushort char tags\r\n"
                            "property float y\r\n"
                            "element nothing 1000000000\r\n"
                            "element face 8\r\nproperty int32 label\r\n"
                            "property list ushort uint16 vertex_index\r\nproperty float quality\r\n"
                            "end_header\r\n";
        for (int i = 0; i < 2; ++i)
            bytes += raw(std::int16_t(7), big) + raw(std::uint8_t(2), big) + raw(1.0, big) +
                     raw(2.0, big);
        for (const Vector3d& v : octahedron.vertices)
            bytes += raw(std::uint8_t(200), big) + raw(v.z(), big) + raw(v.x(), big) +
                     raw(std::uint16_t(3), big) + "abc" + raw(static_cast<float>(v.y()), big);
        for (const auto& triangle : octahedron.triangles) {
            bytes += raw(std::int32_t(-5), big) + raw(std::uint16_t(3), big);
            for (const auto v : triangle)
                bytes += raw(static_cast<std::uint16_t>(v), big);
            bytes += raw(0.5f, big);
        }
        const TriangleMesh mesh = readMeshFile(folder.write("a.ply", bytes));
        EXPECT_EQ(mesh.triangles, octahedron.triangles);
        ASSERT_EQ(mesh.vertices.size(), 6u);
        for (std::size_t i = 0; i < 6; ++i)
            EXPECT_LT((mesh.vertices[i] - octahedron.vertices[i]).norm(), 1e-6);
    }
}

TEST(MeshFile, ReadsTextPlyWithPolygonsAndFacesBeforeVertices) {
    const ScratchFolder folder;
    const auto file = folder.write(
        "a.ply",
        "ply\nformat ascii 1.0\nelement face 2\nproperty list uchar int vertex_indices\n"
        "property int flag\nelement vertex 5\nproperty float x\nproperty float y\n"
        "property float z\nproperty list uchar uchar extra\nend_header\n"
        "4 0 1 2 3 7\n3 0 1 4 7\n0 0 0 0\n1 0 0 2 9 9\n1 1 0 0\n0 1 0 0\n0.5 0.5 1 1 3");
    const TriangleMesh mesh = readMeshFile(file);
    const std::vector<std::array<std::uint32_t, 3>> expected = {{0, 1, 2}, {0, 2, 3}, {0, 1, 4}};
    EXPECT_EQ(mesh.triangles, expected);
    EXPECT_EQ(mesh.vertices[4], Vector3d(0.5, 0.5, 1));
}

TEST(MeshFile, ReadsObjWithEveryFormOfCorner) {
    const ScratchFolder folder;
    const auto file = folder.write("a.obj",
                                   "\xEF\xBB\xBF# remark\nmtllib some.mtl\no name\n\n"
                                   "v 0 0 0\nv 1 0 0 1.0\nv 1 1 0 0.2 0.3 0.4\nv 0 1 0 # remark\n"
                                   "vt 0 0\nvn 0 0 1\ng side\ns off\nusemtl grey\n"
                                   "f 1/1 2/1/1 3//1 4\nf -4 -3 \\\n -2\nf 1 2 5\nv 0.5 0.5 1\n"
                                   "curv 0 1 2\nl 1 2\n");
    const TriangleMesh mesh = readMeshFile(file);
    const std::vector<std::array<std::uint32_t, 3>> expected = {
        {0, 1, 2}, {0, 2, 3}, {0, 1, 2}, {0, 1, 4}};
    EXPECT_EQ(mesh.triangles, expected);
    EXPECT_EQ(mesh.vertices.size(), 5u);
}

TEST(MeshFile, ABinaryStlMayBeginWithSolid) {
    const TriangleMesh mesh = readMeshFile(std::string(MACLE_TEST_DATA) + "/bad/solid_binary.stl");
    EXPECT_EQ(mesh.triangles.size(), 12u);
}

class CommaForPoint : public std::numpunct<char> {
    char do_decimal_point() const override { return ','; }
    char do_thousands_sep() const override { return '.'; }
    std::string do_grouping() const override { return "\3"; }
};

TEST(MeshFile, TheLanguageOfTheDesktopChangesNothing) {
    const ScratchFolder folder;
    const TriangleMesh mesh = shapes::bumpy(12, std::numbers::pi * 1000.0);
    Defect defect;
    defect.name = "d";
    defect.shape = Ellipsoid{{1234.5, 2.25, -3.125}, {0.5, 0.25, 0.125}};
    writeMeshFile(mesh, folder / "plain.obj");
    writeMeshFile(mesh, folder / "plain.ply");
    writeDefects({defect}, folder / "plain.json");

    const std::locale before = std::locale::global(std::locale(std::locale(), new CommaForPoint));
    // Only where the machine has one; the C++ locale above is there in any case.
    const std::string cBefore = std::setlocale(LC_ALL, nullptr);
    for (const char* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_BE.UTF-8"})
        if (std::setlocale(LC_ALL, name)) break;
    writeMeshFile(mesh, folder / "comma.obj");
    writeMeshFile(mesh, folder / "comma.ply");
    writeDefects({defect}, folder / "comma.json");
    const TriangleMesh obj = readMeshFile(folder / "plain.obj");
    const auto defects = readDefects(folder / "plain.json");
    const double text =
        takeInFile(std::string(MACLE_TEST_DATA) + "/bad/vertex_on_edge.obj").volume_mm3;
    std::setlocale(LC_ALL, cBefore.c_str());
    std::locale::global(before);

    expectSame(obj, mesh);
    EXPECT_NEAR(text, 8.0, 1e-12);
    for (const char* extension : {".obj", ".ply", ".json"})
        EXPECT_EQ(shapes::bytesOf(folder / (std::string("plain") + extension)),
                  shapes::bytesOf(folder / (std::string("comma") + extension)));
    EXPECT_EQ(std::get<Ellipsoid>(defects.at(0).shape).centre_mm, Vector3d(1234.5, 2.25, -3.125));
}

TEST(MeshFile, ReadingStopsOnRequest) {
    const ScratchFolder folder;
    const TriangleMesh mesh = shapes::bumpy(150, 5.0);
    for (const char* name : {"a.stl", "a.ply", "a.obj"}) {
        writeMeshFile(mesh, folder / name);
        Progress progress;
        progress.cancel();
        try {
            readMeshFile(folder / name, &progress);
            FAIL() << name;
        } catch (const Error& fault) {
            EXPECT_EQ(fault.code(), ErrorCode::Cancelled);
        }
    }
}

}  // namespace
}  // namespace macle
